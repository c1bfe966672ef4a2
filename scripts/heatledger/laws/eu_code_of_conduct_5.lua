-- The European Commission's voluntary Code of Conduct for external power supplies.

return {
  name = "eu_code_of_conduct_5",
  title = "EU Code of Conduct on External Power Supplies, version 5, tier 2 (voluntary)",
  year = 2013,
  source = "European Commission, Joint Research Centre, 29 October 2013, tables 1 to 3",
  binding = false,
  from = "1 January 2016",

  mains = { voltage = 230, frequency = 50 },
  scope = { from = 0.3, to = 250, words = "single-voltage supplies of 0.3 W to 250 W" },

  average_clause = "tables 2 and 3, four-point average",
  low_load_clause = "tables 2 and 3, 10 % load",
  no_load_clause = "table 1",

  no_class = "it covers single-voltage supplies only",
  classes = {
    {
      name = "low_voltage",
      title = "low voltage",
      when = { ports = "one_voltage", voltage_below = 6, current_from = 0.550 },
      why = "its output is below 6 V at 550 mA or more",
      seen = "efficiencies from memory",
      average = {
        { to = 1, constant = 0.091, per_watt = 0.517 },
        { to = 49, constant = 0.609, per_watt = -0.0011, per_log = 0.0834 },
        { constant = 0.880 },
      },
      low_load = {
        { to = 1, per_watt = 0.517 },
        { to = 49, constant = 0.518, per_watt = -0.00127, per_log = 0.0834 },
        { constant = 0.780 },
      },
      no_load = { { to = 49, watts = 0.075 }, { watts = 0.150 } },
    },
    {
      name = "basic",
      title = "not low voltage",
      when = { ports = "one_voltage" },
      why = "its one output voltage is not low voltage",
      average = {
        { to = 1, constant = 0.169, per_watt = 0.500 },
        { to = 49, constant = 0.670, per_watt = -0.00115, per_log = 0.071 },
        { constant = 0.890 },
      },
      -- The page that quotes the table prints -0.0014 P at 10 % load.  Only -0.00115 P joins the next
      -- band (0.790 at 49 W; the other gives 0.778), so that is taken.
      low_load = {
        { to = 1, constant = 0.060, per_watt = 0.500 },
        { to = 49, constant = 0.570, per_watt = -0.00115, per_log = 0.071 },
        { constant = 0.790 },
      },
      no_load = { { to = 49, watts = 0.075 }, { watts = 0.150 } },
    },
  },

  seen = "no-load limits and efficiencies up to 49 W seen second hand, in a trade journal of 2013; "
    .. "efficiencies above 49 W from memory",
  notes = {
    "Voluntary: it binds those who signed it; it is the target many buyers name.",
  },
}
