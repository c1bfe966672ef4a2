-- exit: 1
-- expect: which has no output
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:stage "one" { model = "output_switch", fed_by = "consumer" }
a:port "out" { fed_by = "one", voltage = "5 V", current = "1 A" }
return a
