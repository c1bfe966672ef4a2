-- exit: 1
-- expect: no material 'unobtainium'
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "80 x 50 x 30 mm", material = "unobtainium" }
return a
