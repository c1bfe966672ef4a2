-- exit: 1
-- expect: power
-- expect: 1 V
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 V" }
return a
