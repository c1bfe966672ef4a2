-- exit: 1
-- expect: expected three lengths
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "80 x 50 mm" }
return a
