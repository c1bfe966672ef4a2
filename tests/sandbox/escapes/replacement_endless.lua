-- ends with: took more than
while true do ("aaa"):gsub("a", function() while true do end end) end
