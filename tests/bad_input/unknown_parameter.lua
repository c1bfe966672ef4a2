-- exit: 1
-- expect: no parameter 'powr'
-- expect: did you mean 'power'?
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", powr = "1 W" }
return a
