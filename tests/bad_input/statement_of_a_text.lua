-- exit: 1
-- expect: statement_of_a_text.lua:7: ambient: a table is wanted and this is a string; write { altitude = ... }; known: altitude, temperature
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:ambient "25 degC"
return a
