-- exit: 1
-- expect: coverage_in_percent.lua:8: main coverage: 50 is outside 0 … 1; did you mean 50 %?
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "80 x 50 x 30 mm" }
a:board "main" { low = "5 x 5 x 5 mm", high = "75 x 45 x 6.6 mm", copper = "70 um", coverage = 50 }
return a
