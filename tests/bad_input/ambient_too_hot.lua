-- exit: 1
-- expect: ambient temperature
-- expect: outside
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:ambient { temperature = "300 degC" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
