local hl = require 'heatledger'
local a = hl.adapter 'x'
a:supply { voltage = '12 V' }
a:stage 'c' { model = 'housekeeping', fed_by = 'source', power = '1.5 W' }
print(a:solve().status)
return a
