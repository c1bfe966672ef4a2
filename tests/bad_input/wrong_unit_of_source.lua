-- exit: 1
-- expect: mains voltage
-- expect: 230 A
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:mains { voltage = "230 A", frequency = "50 Hz" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
