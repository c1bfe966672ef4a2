-- The boxed buck, under a blanket.
local hl = require "heatledger"
return hl.script("boxed.lua", { box = { position = "blanket", fill = "silicone potting" }, plate = true })
