-- exit: 1
-- expect: mains voltage
-- expect: no parameter 'powr'
-- expect: port current
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:mains { voltage = "230 A", frequency = "50 Hz" }
a:stage "consumer" { model = "housekeeping", fed_by = "mains", powr = "1 W" }
a:port "out" { fed_by = "consumer", voltage = "5 V", current = "-1 A" }
return a
