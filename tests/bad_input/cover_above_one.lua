-- exit: 1
-- expect: cover_above_one.lua:7: covered x0: 50 is outside 0 … 1; did you mean 50 %?
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "80 x 50 x 30 mm", covered = { x0 = 50 } }
return a
