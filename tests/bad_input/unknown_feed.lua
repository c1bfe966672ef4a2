-- exit: 1
-- expect: is fed by 'sorce'
-- expect: did you mean
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "sorce", power = "1 W" }
return a
