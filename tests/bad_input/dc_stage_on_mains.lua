-- exit: 1
-- expect: takes dc but
-- expect: put a rectifier between
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:mains { voltage = "230 V", frequency = "50 Hz" }
a:stage "one" { model = "output_switch", fed_by = "mains" }
a:port "out" { fed_by = "one", voltage = "5 V", current = "1 A" }
return a
