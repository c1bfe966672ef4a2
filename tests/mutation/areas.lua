-- What may be mutated, and the tests that must notice. `files`: Lua patterns on the path in the repository.
-- `first`: the programs that keep the figures of just these files, asked before all others.  `tests`: folders of
-- programs; names that share a word with the file come first, see scripts/dev/mutate.  `figures` holds the records of
-- what each model, stage and design answered; `host` and `examples` hold whole adapters.
local device, stage = { "check_device_figures" }, { "check_stage_figures" }
local whole = { "solve", "figures", "host", "design", "examples", "field", "law", "lua", "spread", "fit", "sweep",
                "cli" }
return {
  { files = { "^plugins/capacitors/" }, first = device, tests = { "capacitors", "figures", "host", "examples" } },
  { files = { "^plugins/diodes/" }, first = device, tests = { "diodes", "figures", "host", "examples" } },
  { files = { "^plugins/magnetics/" }, first = device, tests = { "magnetics", "figures", "host", "examples" } },
  { files = { "^plugins/resistors/" }, first = device, tests = { "resistors", "figures", "host", "examples" } },
  { files = { "^plugins/switches/", "^plugins/[%w_]+%.h$" }, first = device,
    tests = { "switches", "figures", "diodes", "host", "examples" } },
  { files = { "^plugins/stages/" }, first = stage, tests = { "stages", "figures", "host", "examples" } },
  { files = { "^core/wave/" }, first = { "check_wave_figures", "check_wave_units", "check_wide_numbers", "check_spectra", "check_curve" },
    tests = { "wave", "figures", "magnetics", "host", "examples" } },
  { files = { "^core/thermal/field_" }, first = { "check_field_pieces", "check_field_slopes", "check_drawn_field_figures",
                                                    "check_field_figures" },
    tests = { "thermal", "figures", "field", "solve", "host", "examples" } },
  { files = { "^core/thermal/air", "^core/thermal/dry_air", "^core/thermal/gap", "^core/thermal/law%.",
              "^core/thermal/prandtl", "^core/thermal/surface" }, first = { "check_air_figures", "check_dry_air" },
    tests = { "thermal", "figures", "field", "solve", "host", "examples" } },
  { files = { "^core/thermal/ladder" }, first = { "check_ladder_figures", "check_ladder" },
    tests = { "thermal", "figures", "host", "examples" } },
  { files = { "^core/thermal/" }, first = { "check_elimination", "check_steps", "check_random_networks", "check_heat_figures" },
    tests = { "thermal", "figures", "field", "solve", "host", "examples" } },
  { files = { "^core/solve/warmup", "^core/solve/trace" }, first = { "check_course_figures", "check_warmup", "check_trace" },
    tests = whole },
  { files = { "^core/solve/ripple", "^core/solve/straight_ripple" }, first = { "check_ripple", "check_design_figures" },
    tests = whole },
  { files = { "^core/solve/" }, first = { "check_start_figures", "check_design_figures" }, tests = whole },
}
