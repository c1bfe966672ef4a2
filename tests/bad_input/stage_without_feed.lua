-- exit: 1
-- expect: does not say what feeds it
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", power = "1 W" }
return a
