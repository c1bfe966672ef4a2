-- exit: 1
-- expect: 'nowhere'
-- expect: needs: switching_frequency
-- What is wrong with the tree hides nothing of the parts: both are told.
local hl = require "heatledger"
local a = hl.adapter "bench"
a:supply { voltage = "24 V" }
a:stage "buck" { model = "synchronous_buck", fed_by = "nowhere" }
a:port "out" { fed_by = "buck", voltage = "12 V", current = "1 A" }
return a
