-- exit: 1
-- expect: box_in_cm.lua:7: box size: 1180 mm is outside 5 … 1000 mm; did you mean 40 x 62 x 118 mm?
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "40 x 62 x 118 cm" }
return a
