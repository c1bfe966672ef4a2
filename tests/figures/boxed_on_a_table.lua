-- The boxed buck, on a table.
local hl = require "heatledger"
return hl.script("boxed.lua", { box = { position = "table", network = "field" }, lead = "0.03 W/K", plate = true })
