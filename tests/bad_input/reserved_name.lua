-- exit: 1
-- expect: 'ambient' has a meaning of its own
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "ambient" { model = "housekeeping", fed_by = "source", power = "1 W" }
return a
