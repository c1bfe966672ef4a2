-- holds
local b = require "heatledger.binding"
local c, d = b.catalogue(), b.draft and b.draft("x")
assert(not pcall(c.read_text, d, "x", "y"))
assert(not pcall(c.read_text, {}, "x", "y"))
assert(not pcall(c.read_text))
return true
