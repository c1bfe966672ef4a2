-- ends with: took more than
table.sort({ 3, 2, 1 }, function() while true do end end)
