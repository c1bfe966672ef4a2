-- exit: 1
-- expect: mains frequency
-- expect: 50 MHz
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:mains { voltage = "230 V", frequency = "50 MHz" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
