-- holds
local head = "\27Lua\84\0\25\147\13\10\26\10\4\8\8"
local f, why = load(head, "x", "b")
assert(f == nil and why:find "binary", why)
f, why = load(head .. ("\0"):rep(200), "x", "bt")
assert(f == nil and why:find "binary", why)
return true
