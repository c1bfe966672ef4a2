-- exit: 1
-- expect: the adapter has no stage
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
return a
