-- exit: 1
-- expect: no part is called 'nowhere'
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:link { "nowhere", "ambient", resistance = "10 K/W" }
return a
