-- exit: 1
-- expect: feeds itself through
-- expect: a converter is a tree
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "one" { model = "output_switch", fed_by = "two" }
a:stage "two" { model = "output_switch", fed_by = "one" }
a:port "out" { fed_by = "two", voltage = "5 V", current = "1 A" }
return a
