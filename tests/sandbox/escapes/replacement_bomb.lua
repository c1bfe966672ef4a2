-- ends with: 
local s = ("a"):rep(1 << 16)
return s:gsub("a", ("%0"):rep(1 << 12))
