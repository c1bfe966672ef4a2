-- holds
string.gsub = function() return "tampered" end
string.format = nil
assert(("abc"):gsub("b", "x") == "axc")
assert(("%d"):format(3) == "3")
return true
