-- ends with: attempt to index a boolean value
local b = require "heatledger.binding"
local c = b.catalogue()
getmetatable(c).__gc(c)
return c:find "x"
