-- exit: 1
-- expect: no part is called 'consumer.q9'
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:box { size = "80 x 50 x 30 mm" }
a:place "consumer.q9" { at = "10 x 10 x 10 mm" }
return a
