-- exit: 1
-- set: consumer.pow=1 W
-- expect: no setting 'consumer.pow'; did you mean 'consumer.power'?
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
