-- holds
local n = 1 << 21
assert(not ("a"):rep(n):find(("a"):rep(n // 2) .. "b", 1, true))
return true
