-- holds
local f = assert(load("return io, os, debug, package, require", "x", "t"))
local a, b, c, d, e = f()
assert(not a and not b and not c and not d and e == require)
return true
