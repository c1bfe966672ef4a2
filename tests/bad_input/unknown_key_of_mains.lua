-- exit: 1
-- expect: 'volts' means nothing here
-- expect: known: frequency, voltage
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:mains { volts = "230 V", frequency = "50 Hz" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
