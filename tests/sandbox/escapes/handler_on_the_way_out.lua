-- ends with: took more than
xpcall(function() while true do end end, function(e) while true do end return e end)
