-- exit: 1
-- expect: is a device, not a stage
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "resistor", fed_by = "source" }
return a
