-- Efficiency and no-load power of external power supplies in the United States, "Level VI".

return {
  name = "us_level_vi",
  title = "US 10 CFR 430.32(w), external power supplies (efficiency level VI)",
  year = 2014,
  source = "Federal Register vol. 79, 10 February 2014, p. 7846; test method: 10 CFR 430 subpart B, appendix Z",
  binding = true,
  from = "10 February 2016",

  mains = { voltage = 115, frequency = 60 },
  scope = { words = "direct operation AC-DC supplies of any power" },

  average_clause = "430.32(w)(1)(ii)",
  no_load_clause = "430.32(w)(1)(ii)",
  -- Appendix Z: a load that the adapter cannot hold is left out of the average.
  average_leaves_out = "infeasible",

  classes = {
    {
      name = "multiple_voltage",
      title = "multiple-voltage",
      when = { ports = "different_voltages" },
      why = "its outputs have different voltages at the same time",
      seen = "from memory; the same figures stand in the multiple output column of (EU) 2019/1782",
      average = {
        { to = 1, constant = 0.067, per_watt = 0.497 },
        { to = 49, constant = 0.561, per_log = 0.075 },
        { constant = 0.860 },
      },
      no_load = { { watts = 0.300 } },
    },
    {
      name = "low_voltage",
      title = "single-voltage, low-voltage AC-DC",
      when = { voltage_below = 6, current_from = 0.550 },
      why = "its output is below 6 V at 550 mA or more",
      average = {
        { to = 1, constant = 0.087, per_watt = 0.517 },
        { to = 49, constant = 0.609, per_watt = -0.0014, per_log = 0.0834 },
        { to = 250, constant = 0.870 },
        { constant = 0.875 },
      },
      no_load = { { to = 49, watts = 0.100 }, { to = 250, watts = 0.210 }, { watts = 0.500 } },
    },
    {
      name = "basic",
      title = "single-voltage, basic-voltage AC-DC",
      when = {},
      why = "all its outputs have one voltage, and that is not low voltage",
      average = {
        { to = 1, constant = 0.160, per_watt = 0.5 },
        { to = 49, constant = 0.67, per_watt = -0.0014, per_log = 0.071 },
        { to = 250, constant = 0.880 },
        { constant = 0.875 },
      },
      no_load = { { to = 49, watts = 0.100 }, { to = 250, watts = 0.210 }, { watts = 0.500 } },
    },
  },

  seen = "limits of single-voltage supplies seen second hand, in a quotation; test method seen in the proposal of "
    .. "2 November 2021; definitions of the classes, clause and mains voltage from memory",
  notes = {
    "A supply whose port voltage is negotiated is tested at its highest and its lowest voltage (from memory): "
      .. "run once more with --set PORT.voltage=... and --set PORT.current=...",
    "A proposal of 2 February 2023 to tighten these limits and one of 2025 to withdraw them are known; "
      .. "no final rule was found, and neither is checked.",
  },
}
