-- A desk charger for a laptop, a tablet and a lamp: 157 W from three ports, in a sealed plastic case.
-- Everything here is invented: no such product exists, and its parts (parts.yaml) are of nobody's make.
--
--   heatledger solve examples/desk_charger/charger.lua --set mains.voltage='115 V' --set load=0.5

local hl = require "heatledger"
local part = hl.parts "parts.yaml"

local charger = hl.adapter "desk charger, 157 W, three ports"

charger:mains { voltage = "230 Vrms", frequency = "50 Hz" }
charger:ambient { temperature = "25 degC" }

-- --------------------------------------------------------------- mains side --

charger:stage "filter" {
  model = "mains_input_filter", fed_by = "mains",
  fuse = part.fuse,
  thermistor = part.inrush_thermistor,
  common_mode_choke = part.common_mode_choke_1,
  second_common_mode_choke = part.common_mode_choke_2,
  x_capacitor = part.x_capacitor_1,
  second_x_capacitor = part.x_capacitor_2,
  discharge_resistor = part.discharge_resistor,
  varistor = part.varistor,
}

charger:stage "bridge" {
  model = "bridge_rectifier", fed_by = "filter",
  rectifier = { part.bridge, count = 2 },
  capacitors = { film = part.bridge_film },
}

charger:stage "pfc" {
  model = "boost_pfc", fed_by = "bridge",
  mode = "boundary", output_voltage = "392 V",
  switch = part.pfc_switch, rectifier = part.pfc_diode, boost_inductor = part.pfc_inductor,
  capacitors = { bulk = { part.bulk_capacitor, count = 2 } },
}

charger:stage "primary_housekeeping" { model = "housekeeping", fed_by = "pfc", power = "180 mW" }

-- --------------------------------------------------- to the intermediate bus --

charger:stage "llc" {
  model = "half_bridge_llc", fed_by = "pfc",
  secondary = "centre_tapped", output_voltage = "24 V", dead_time = "220 ns",
  switch = part.llc_switch, resonant_capacitor = part.resonant_capacitor,
  transformer = part.llc_transformer, rectifier = part.synchronous_rectifier,
  capacitors = { polymer = { part.bus_polymer, count = 3 }, ceramic = { part.bus_ceramic, count = 4 } },
}

charger:stage "secondary_housekeeping" { model = "housekeeping", fed_by = "llc", power = "90 mW" }

-- -------------------------------------------------------------------- ports --

local function port(name, figures)
  charger:stage(name .. "_buck") {
    model = "synchronous_buck", fed_by = "llc",
    switching_frequency = figures.frequency, light_load = "diode_emulation",
    high_switch = part.buck_switch, low_switch = part.buck_switch, inductor = figures.inductor,
    capacitors = {
      polymer = { figures.polymer, count = figures.polymers or 1 },
      ceramic = { part.output_ceramic, count = 2 },
    },
  }
  charger:stage(name .. "_switch") {
    model = "output_switch", fed_by = name .. "_buck",
    switch = part.output_switch, sense_resistor = part.sense_resistor,
  }
  charger:port(name) { fed_by = name .. "_switch", voltage = figures.voltage, current = figures.current }
end

port("usb_c_1", { voltage = "20 V", current = "5 A", frequency = "360 kHz",
  inductor = part.buck_inductor_large, polymer = part.output_polymer, polymers = 2 })
port("usb_c_2", { voltage = "20 V", current = "2.25 A", frequency = "360 kHz",
  inductor = part.buck_inductor_small, polymer = part.output_polymer })
port("usb_a", { voltage = "5 V", current = "2.4 A", frequency = "360 kHz",
  inductor = part.buck_inductor_small, polymer = part.output_polymer_low })

return charger
