-- exit: 1
-- expect: stage 'consumer' does not say its model
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { fed_by = "source", power = "1 W" }
return a
