-- ends with: 
local b = require "heatledger.binding"
return b.solve(b.catalogue())
