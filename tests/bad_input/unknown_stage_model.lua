-- exit: 1
-- expect: no stage model 'house_keeping'
-- expect: did you mean 'housekeeping'?
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "house_keeping", fed_by = "source", power = "1 W" }
return a
