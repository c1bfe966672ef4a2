-- exit: 1
-- expect: port current
-- expect: outside
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "one" { model = "output_switch", fed_by = "source" }
a:port "out" { fed_by = "one", voltage = "5 V", current = "-1 A" }
return a
