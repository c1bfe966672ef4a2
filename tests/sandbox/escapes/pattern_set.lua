-- ends with: took more than
local set = "[^" .. ("b"):rep(1 << 16) .. "]"
return ("a"):rep(1 << 20):find(set .. "-c")
