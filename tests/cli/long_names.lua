-- Names longer than the tables' first column; the part is invented.
local hl = require "heatledger"
local part = hl.parts "long_names.yaml"
local a = hl.adapter "long names"
a:supply { voltage = "12 V" }
a:stage "switch_of_the_port_at_the_far_end" { model = "output_switch", fed_by = "source", arrangement = "single",
  switch = part.switch }
a:port "lamp" { fed_by = "switch_of_the_port_at_the_far_end", voltage = "12 V", current = "2 A" }
return a
