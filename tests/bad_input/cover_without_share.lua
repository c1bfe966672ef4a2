-- exit: 1
-- expect: cover_without_share.lua:7: covered: say how much of each face is covered, such as covered = { y1 = 1 }
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "80 x 50 x 30 mm", covered = { "y1" } }
return a
