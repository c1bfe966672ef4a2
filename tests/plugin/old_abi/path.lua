-- Two parts and a stage of the old plugin; check_old_abi.c solves it with each build of the plugin.
local hl = require "heatledger"
local part = hl.parts "parts.yaml"
local bench = hl.adapter "old plugin"
bench:supply { voltage = "12 V" }
bench:stage "path" {
  model = "old_path", fed_by = "source", bar = part.bar, second_bar = { part.strip, count = 3 },
  capacitors = { smoothing = part.smoothing },
}
bench:port "lamp" { fed_by = "path", voltage = "12 V", current = "2 A" }
bench:node "lid" { capacity = "5 J/K" }
bench:link { "path.bar", "lid", resistance = "12 K/W" }
bench:link { "path.second_bar", "lid", resistance = "20 K/W" }
bench:link { "path.smoothing", "lid", resistance = "15 K/W" }
bench:link { "lid", "ambient", resistance = "9 K/W" }
return bench
