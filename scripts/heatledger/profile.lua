-- profile: what an adapter has to deliver over time, as steps in SI for the warm-up.
--
--   charger:profile "charge" {
--     { duration = "50 min", load = 1 },                                 -- constant current
--     { duration = "70 min", load = 1, taper = 0.05 },                   -- then it falls exponentially to 5 %
--     { duration = "30 min", load = 0.02, settings = { ["ambient.temperature"] = "30 degC" } },
--     cycles = 3, from = "cold", every = "1 min",
--   }
--
-- A step may also taper in a straight line, taper = { to = 0.05, straight = true }, or be pulsed faster than the
-- nodes can follow, pulse = { period = "10 ms", duty = 0.2, rest = 0 }: the nodes feel the mean, a junction with
-- a stated transient impedance the peak.

local binding = require "heatledger.binding"
local words = require "heatledger.words"

local profile = {}

local fail, set = words.fail, words.set

local function seconds(value, what)
  if type(value) == "number" then return value end
  if type(value) ~= "string" then fail("%s: expected a time with a unit, such as 30 min", what) end
  local good, result = pcall(binding.quantity, value, "s")
  if not good then fail("%s: %s", what, words.without_place(result)) end
  return result
end

local function factor(value, what)
  if type(value) == "number" then return value end
  local good, result = pcall(binding.quantity, value, "1")
  if not good then fail("%s: expected a number, such as 0.5 or 50 %%", what) end
  return result
end

-- Load factor, in the range of the setting `load`.
local function load_of(value, what)
  local load = factor(value, what)
  words.plausible(value, load, "1", 0, 2, what)
  return load
end

-- Words of a table whose steps are numbered.
local function known(what, options, set_of)
  local named = {}
  for key, value in pairs(options) do
    if type(key) ~= "number" then named[key] = value end
  end
  words.known(what, named, set_of)
end

local step_words = set("duration", "load", "taper", "settings", "pulse")
local taper_words, pulse_words = set("to", "straight"), set("period", "duty", "rest")
local profile_words = set("cycles", "from", "every", "limits")

local function texts_of(settings, what)
  local texts = {}
  for name, value in pairs(settings or {}) do
    if type(name) ~= "string" then fail("%s: settings are named", what) end
    texts[name] = type(value) == "number" and ("%.17g"):format(value) or tostring(value)
  end
  return texts
end

local function step_of(options, what)
  if type(options) ~= "table" then fail("%s: a step is a table, such as { duration = \"30 min\", load = 1 }", what) end
  words.known(what, options, step_words)
  if not options.duration then fail("%s: its duration is missing", what) end
  local step = {
    duration = seconds(options.duration, what .. " duration"),
    load = options.load and load_of(options.load, what .. " load"),
    settings = texts_of(options.settings, what),
  }
  local taper = options.taper
  if taper ~= nil then
    if type(taper) ~= "table" then taper = { to = taper } end
    words.known(what .. " taper", taper, taper_words)
    if taper.to == nil then fail("%s: a taper says where it ends: taper = 0.1, or { to = 0.1 }", what) end
    step.load_end = load_of(taper.to, what .. " taper")
    step.straight = taper.straight and true or false
  end
  local pulse = options.pulse
  if pulse ~= nil then
    if type(pulse) ~= "table" then fail("%s: pulse = { period = \"10 ms\", duty = 0.2, rest = 0 }", what) end
    words.known(what .. " pulse", pulse, pulse_words)
    step.pulse_period = seconds(pulse.period, what .. " pulse period")
    step.pulse_duty = factor(pulse.duty, what .. " pulse duty")
    step.pulse_rest = factor(pulse.rest or 0, what .. " pulse rest")
  end
  return step
end

-- The description above in numbers; errors name the step.
function profile.of(options, name)
  local what = ("profile '%s'"):format(name)
  if type(options) ~= "table" then fail("%s: describe its steps in a table", what) end
  known(what, options, profile_words)
  if #options == 0 then fail("%s has no step; give at least one { duration = ..., load = ... }", what) end
  local made = { name = name, cycles = options.cycles or 1, every = 0, limits = {} }
  if math.type(made.cycles) ~= "integer" or made.cycles < 1 then
    fail("%s: cycles is the number of times its steps are run through", what)
  end
  if options.every then made.every = seconds(options.every, what .. " every") end
  local from = options.from or "cold"
  if type(from) == "table" then
    made.start = texts_of(from, what .. " from")
  elseif from == "steady" then
    made.start = {}
  elseif from ~= "cold" then
    fail("%s: it begins from \"cold\", \"steady\" or a table of settings to be steady at", what)
  end
  for node, limit in pairs(options.limits or {}) do
    local good, kelvin = pcall(binding.quantity, limit, "degC")
    if not good then fail("%s limit of '%s': %s", what, tostring(node), words.without_place(kelvin)) end
    made.limits[node] = kelvin
  end
  for k, step in ipairs(options) do made[k] = step_of(step, ("%s step %d"):format(what, k)) end
  return made
end

-- A step as said on the command line: "1 for 30 min", or "1 to 0.1 for 1 h".
function profile.of_words(text)
  local from, to, duration = text:match "^%s*(.-)%s+to%s+(.-)%s+for%s+(.+)$"
  if not from then from, duration = text:match "^%s*(.-)%s+for%s+(.+)$" end
  if not from then fail("step '%s': write \"LOAD for DURATION\" or \"LOAD to LOAD for DURATION\"", text) end
  local straight = to and factor(to, ("step '%s'"):format(text)) == 0
  return { load = tonumber(from) or from, duration = duration,
    taper = to and { to = tonumber(to) or to, straight = straight } or nil }
end

-- What the command makes of its options; `kept` = the profiles of the script by name.
function profile.of_options(options, kept)
  local made
  if options.name then
    made = kept and kept[options.name]
    if not made then
      local names = {}
      for name in pairs(kept or {}) do names[#names + 1] = name end
      table.sort(names)
      fail("the script has no profile '%s'; it has: %s", options.name,
        #names > 0 and table.concat(names, ", ") or "none")
    end
  else
    local steps = {}
    for k, text in ipairs(options.steps) do steps[k] = profile.of_words(text) end
    if #steps == 0 then steps[1] = { duration = options.duration or "4 h" } end
    made = profile.of(steps, "command line")
  end
  local run = {}
  for key, value in pairs(made) do run[key] = value end
  if options.cycles then
    run.cycles = math.tointeger(tonumber(options.cycles))
    if not run.cycles or run.cycles < 1 then
      fail("--cycles: '%s' is no whole number from 1 on; how often are the steps run through?", options.cycles)
    end
  end
  if options.every then
    run.every = seconds(options.every, "--every")
    if run.every <= 0 then fail("--every: %s is no time between rows; more than 0 is wanted", options.every) end
  end
  if options.from then run.start = options.from == "steady" and {} or nil end
  if options.from and options.from ~= "steady" and options.from ~= "cold" then
    fail("--from is cold or steady, not '%s'", options.from)
  end
  local limits = {}
  for node, kelvin in pairs(made.limits) do limits[node] = kelvin end
  for _, text in ipairs(options.limits or {}) do
    local node, value = text:match "^(.-)%s*=%s*(.+)$"
    if not node then fail("--limit '%s' has no '='; write --limit 'NODE=70 degC'", text) end
    local good, kelvin = pcall(binding.quantity, value, "degC")
    if not good then fail("--limit '%s': %s", text, words.without_place(kelvin)) end
    limits[node] = kelvin
  end
  run.limits = limits
  return run
end

return profile
