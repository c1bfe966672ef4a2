-- Efficiency and no-load power of external power supplies in the European Union.

return {
  name = "eu_2019_1782",
  title = "Commission Regulation (EU) 2019/1782 (ecodesign of external power supplies)",
  year = 2019,
  source = "Official Journal of the European Union L 272, 25 October 2019, p. 95, Annex II",
  binding = true,
  from = "1 April 2020",
  to = "13 December 2028",

  mains = { voltage = 230, frequency = 50 },
  scope = { to = 250, words = "nameplate output power up to 250 W" },

  average_clause = "Annex II, table 2",
  no_load_clause = "Annex II, table 1",

  -- The first class whose conditions hold is taken.  Each band reads
  -- constant + per_watt P + per_log ln P, with P in W, up to and with `to`.
  classes = {
    {
      name = "multiple_voltage",
      title = "multiple voltage output",
      when = { ports = "several" },
      why = "it has more than one simultaneous output",
      average = {
        { to = 1, constant = 0.067, per_watt = 0.497 },
        { to = 49, constant = 0.561, per_log = 0.075 },
        { constant = 0.860 },
      },
      no_load = { { watts = 0.30 } },
    },
    {
      name = "low_voltage",
      title = "low voltage",
      when = { voltage_below = 6, current_from = 0.550 },
      why = "its output is below 6 V at 550 mA or more",
      average = {
        { to = 1, constant = 0.087, per_watt = 0.517 },
        { to = 49, constant = 0.609, per_watt = -0.0014, per_log = 0.0834 },
        { constant = 0.870 },
      },
      no_load = { { to = 49, watts = 0.10 }, { watts = 0.21 } },
    },
    {
      name = "basic",
      title = "AC-DC, neither low voltage nor multiple voltage output",
      when = {},
      why = "it has one output, and that is not low voltage",
      average = {
        { to = 1, constant = 0.160, per_watt = 0.5 },
        { to = 49, constant = 0.67, per_watt = -0.0014, per_log = 0.071 },
        { constant = 0.880 },
      },
      no_load = { { to = 49, watts = 0.10 }, { watts = 0.21 } },
    },
  },

  seen = "limits seen in the published text of the tables; the order of their columns inferred from the values, "
    .. "the numbers of the tables from an adapter's specification; definitions of the classes, scope and dates "
    .. "from memory or second hand",
  notes = {
    "Efficiency at 10 % load must be documented, but has no limit here.",
    "Regulation (EU) 2025/2052 replaces this one on 14 December 2028 and then limits 10 % load too; "
      .. "its limits were not seen and are not checked.",
  },
}
