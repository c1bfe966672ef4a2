-- exit: 1
-- expect: no enclosure
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:board "main" { low = "5 x 5 x 5 mm", high = "75 x 45 x 6.6 mm" }
return a
