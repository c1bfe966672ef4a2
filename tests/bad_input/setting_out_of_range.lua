-- exit: 1
-- expect: load
-- set: load=-1
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
