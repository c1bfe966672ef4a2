-- exit: 1
-- expect: statement_with_a_dot.lua:7: box: call it with a colon, as in NAME:box, not with a dot
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a.box { size = "80 x 50 x 30 mm" }
return a
