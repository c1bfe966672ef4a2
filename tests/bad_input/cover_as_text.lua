-- exit: 1
-- expect: cover_as_text.lua:7: covered: a table of faces and covered shares is wanted, such as covered = { x0 = 1 }
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "80 x 50 x 30 mm", covered = "x0" }
return a
