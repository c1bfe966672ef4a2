-- The boxed buck, potted.
local hl = require "heatledger"
return hl.script("boxed.lua", { box = { fill = "silicone potting", network = "field" }, plate = true })
