-- exit: 1
-- expect: unknown_keys_of_links.lua:9: link radiation: 'emisivity' means nothing here; did you mean 'emissivity'? Known: area, emissivity
-- expect: unknown_keys_of_links.lua:10: link natural: 'with' means nothing here; known: area, facing, length
-- expect: unknown_keys_of_links.lua:11: link natural: facing: no direction 'sideways'; known: down, up, vertical
local hl = require "heatledger"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "housekeeping", fed_by = "source", power = "1 W" }
a:link { "consumer", "ambient", radiation = { emisivity = 0.9, area = "1 cm^2" } }
a:link { "consumer", "ambient", natural = { area = "1 cm^2", length = "1 cm", with = 3 } }
a:link { "consumer", "ambient", natural = { area = "1 cm^2", length = "1 cm", facing = "sideways" } }
return a
