-- exit: 1
-- expect: lua_error.lua:5
-- expect: attempt to
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
local x = nil + 1
return a
