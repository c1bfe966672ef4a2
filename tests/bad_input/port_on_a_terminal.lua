-- exit: 1
-- expect: gives no dc
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:port "out" { fed_by = "consumer", voltage = "5 V", current = "1 A" }
return a
