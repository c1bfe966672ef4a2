-- exit: 1
-- expect: memory
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
local s = "x" while true do s = s .. s end
return a
