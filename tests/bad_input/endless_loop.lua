-- exit: 1
-- expect: steps
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
while true do end
return a
