-- holds
local b = require "heatledger.binding"
b.library "/tmp/evil/heatledger/init.lua"
assert(not pcall(require, "heatledger.evil"))
assert(require "heatledger.law")
return true
