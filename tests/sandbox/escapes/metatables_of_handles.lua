-- holds
local hl = require "heatledger"
local b = require "heatledger.binding"
local c = b.catalogue()
assert(getmetatable(c) == false)
assert(not pcall(setmetatable, c, {}))
return true
