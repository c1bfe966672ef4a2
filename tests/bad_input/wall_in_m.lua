-- exit: 1
-- expect: wall_in_m.lua:7: box wall: 2 m is outside 50 um … 50 mm; did you mean 2 mm?
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "80 x 50 x 30 mm", wall = "2 m" }
return a
