-- exit: 1
-- expect: --set
-- expect: V
-- set: source.voltage=48 A
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
