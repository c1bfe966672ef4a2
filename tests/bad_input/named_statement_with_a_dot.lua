-- exit: 1
-- expect: named_statement_with_a_dot.lua:7: port: call it with a colon, as in NAME:port, not with a dot
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a.port "out" { fed_by = "consumer", voltage = "5 V", current = "1 A" }
return a
