-- exit: 1
-- expect: stage 'one' feeds nothing
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "one" { model = "output_switch", fed_by = "source" }
return a
