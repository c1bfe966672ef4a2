-- exit: 1
-- expect: lua_syntax.lua:5
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
local = 1
return a
