-- exit: 1
-- expect: lua_error.lua:6
-- expect: attempt to
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
local x = nil + 1
return a
