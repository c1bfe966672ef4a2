-- exit: 1
-- expect: part_out_of_the_box.lua:10
-- expect: part 'consumer.sense_resistor' reaches 2 mm out of the box at x1; outside the box is 80 x 50 x 30 mm: move it or check its size
local hl = require "heatledger"
local part = hl.parts "shunt.yaml"
local a = hl.adapter "wrong on purpose"
a:supply { voltage = "48 V" }
a:stage "consumer" { model = "output_switch", fed_by = "source", sense_resistor = part.shunt }
a:box { size = "80 x 50 x 30 mm" }
a:place "consumer.sense_resistor" { at = "77 x 25 x 15 mm", size = "10 x 5 x 5 mm" }
a:port "p" { fed_by = "consumer", voltage = "48 V", current = "1 A" }
return a
