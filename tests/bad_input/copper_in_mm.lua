-- exit: 1
-- expect: copper_in_mm.lua:8: main copper: 35 mm is outside 5 um … 3 mm; did you mean 35 um?
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "80 x 50 x 30 mm" }
a:board "main" { low = "5 x 5 x 5 mm", high = "75 x 45 x 6.6 mm", copper = "35 mm" }
return a
