-- Sweeps and swaps: the user's words become one plain description that the core walks.
--
--   local hl = require "heatledger"
--   return hl.sweep {
--     adapter = "charger.lua",                    -- a script beside this one, or an adapter
--     axes = {
--       { "pfc.switch", parts = { part.a, part.b } },                 -- or parts = hl.catalogue "switches",
--                                                                     -- where = function(known) ... end
--       { "mains.voltage", list = { "100 V", "115 V", "230 V" } },
--       { "load", from = 0.1, to = 1, steps = 10 },                   -- spacing = "log" for even ratios
--       { "profile", points = { { label = "idle", load = 0.02 }, { label = "full", load = 1 } } },
--     },
--     sample = 2000, seed = 7,                    -- a Latin hypercube instead of the full grid
--     figures = { "efficiency", "case_hottest_c" },
--     derive = { margin = function(r) return 100 - r["pfc.switch.temperature_c"] end },
--     limits = { case_hottest_c = { most = 75 } },
--     keep = { best = 20, by = "efficiency", highest = true },
--   }

local binding = require "heatledger.binding"
local headroom = require "heatledger.headroom"

local words = require "heatledger.words"
local wrong, known, set = words.fail, words.known, words.set

local sweep = {}

local function sorted_keys(t)
  local keys = {}
  for key in pairs(t) do keys[#keys + 1] = key end
  table.sort(keys, function(a, b) return tostring(a) < tostring(b) end)
  return keys
end

-- ------------------------------------------------------------------- axes --

local axis_words = set(1, "name", "list", "from", "to", "steps", "spacing", "parts", "where", "points")
local spacings = set("linear", "log")
local beside = { spacing = "steps", steps = "from", to = "from", where = "parts" } -- counts only with the other

-- What `where` is asked about, as in hl.matching.
local function facts(part)
  return { name = part:name(), family = part:family(), model = part:model(), description = part:description(),
    values = part:values() }
end

-- A list of parts, or a table of parts as hl.parts and hl.catalogue give it.
local function parts_of(given, where)
  local list = {}
  local function add(part)
    if type(part) == "userdata" and (not where or where(facts(part))) then list[#list + 1] = part end
  end
  if type(given) == "table" and rawget(given, 1) then
    for _, part in ipairs(given) do add(part) end
  else
    for _, part in pairs(given) do add(part) end
  end
  return list
end

local function split(place)
  local stage, slot = place:match("^([^.]+)%.([^.]+)$")
  if not stage then wrong("'%s' is no place for a part; write STAGE.SLOT", place) end
  return stage, slot
end

-- Candidates for a place.  From a table of parts only those that fit are taken; a list must fit as a whole.
local function swap_axis(adapter, name, axis)
  local stage, slot = split(name)
  local is_list = type(axis.parts) == "table" and rawget(axis.parts, 1) ~= nil
  local names = {}
  for _, part in ipairs(parts_of(axis.parts, axis.where)) do
    if is_list or adapter.draft:takes(stage, slot, part) then
      adapter.draft:alternative(stage, slot, part)
      names[#names + 1] = { part:name() }
    end
  end
  if #names == 0 then
    wrong("axis '%s': no part fits there and meets the condition; name others, or widen where", name)
  end
  return { name = name, settings = { name }, entries = names }
end

local function number(adapter, name, value)
  if type(value) == "number" then return value end
  local unit = adapter:finish():unit(name)
  if not unit then wrong("no setting '%s'; `heatledger solve FILE --settings` lists them", name) end
  return binding.quantity(value, unit)
end

local function steps(adapter, name, axis)
  local low, high = number(adapter, name, axis.from), number(adapter, name, axis.to)
  words.one(("axis '%s'"):format(name), axis.spacing or "linear", spacings, "spacing")
  local n = math.tointeger(tonumber(axis.steps))
  if not n or n < 2 or n > 1000000 then wrong("axis '%s': steps = %s; take 2 or more", name, tostring(axis.steps)) end
  if axis.spacing == "log" and not (low > 0 and high > 0) then
    wrong("axis '%s': even ratios need values above 0", name)
  end
  local entries = {}
  for i = 0, n - 1 do
    local u = i / (n - 1)
    local value = axis.spacing == "log" and low * (high / low) ^ u or low + (high - low) * u
    if i == n - 1 then value = high end
    entries[i + 1] = { value }
  end
  return entries
end

local function point_axis(name, points)
  local settings, seen = {}, {}
  for _, point in ipairs(points) do
    for key in pairs(point) do
      if key ~= "label" and not seen[key] then seen[key] = true; settings[#settings + 1] = key end
    end
  end
  table.sort(settings)
  local entries, labels = {}, {}
  for i, point in ipairs(points) do
    entries[i], labels[i] = {}, tostring(point.label or i)
    for k, key in ipairs(settings) do entries[i][k] = point[key] end
  end
  return { name = name, settings = settings, entries = entries, labels = labels }
end

local function celsius(adapter, name)
  return adapter:finish():unit(name) == "degC" and name .. "_c" or name
end

local function plain_axis(adapter, name, axis)
  if axis.points then return point_axis(name, axis.points) end
  if axis.list then
    local entries = {}
    for i, value in ipairs(axis.list) do entries[i] = { value } end
    return { name = celsius(adapter, name), settings = { name }, entries = entries }
  end
  if axis.from == nil or axis.to == nil then
    wrong("axis '%s' says no values: give list, from and to, parts, or points", name)
  end
  if axis.steps then
    return { name = celsius(adapter, name), settings = { name }, entries = steps(adapter, name, axis) }
  end
  return { name = name, settings = { name }, low = axis.from, high = axis.to }
end

-- Parts first: they must be known before the adapter is finished.
local function axes_of(adapter, axes)
  local made = {}
  for pass = 1, 2 do
    for i, axis in ipairs(axes) do
      local name = type(axis) == "table" and (axis[1] or axis.name)
      if type(name) ~= "string" then wrong("axis %d does not begin with the name of a setting", i) end
      known("axis " .. name, axis, axis_words)
      for word, other in pairs(beside) do
        if axis[word] ~= nil and axis[other] == nil then
          wrong("axis '%s': %s says something with %s alone; give both", name, word, other)
        end
      end
      if (axis.parts ~= nil) == (pass == 1) then
        made[i] = axis.parts and swap_axis(adapter, name, axis) or plain_axis(adapter, name, axis)
      end
    end
  end
  return made
end

-- ---------------------------------------------------------------- figures --

-- derive = { name = function(r) ... end }, or one function with derived = { names } that returns a table.
local function derived_of(plan)
  if plan.derive == nil then return {}, nil end
  if type(plan.derive) == "function" then
    local names, whole = plan.derived, plan.derive
    if type(names) ~= "table" or #names == 0 then
      wrong("derive is a function: name what it gives in derived = { ... }")
    end
    return names, function(r)
      local got, out = whole(r), {}
      if type(got) ~= "table" then wrong("derive returned a %s; it must return a table", type(got)) end
      for i, name in ipairs(names) do out[i] = got[name] end
      return table.unpack(out, 1, #names)
    end
  end
  local names, functions = sorted_keys(plan.derive), {}
  for i, name in ipairs(names) do functions[i] = plan.derive[name] end
  return names, function(r)
    local out = {}
    for i = 1, #names do out[i] = functions[i](r) end
    return table.unpack(out, 1, #names)
  end
end

local function limits_of(limits)
  local list = {}
  for _, name in ipairs(sorted_keys(limits or {})) do
    local limit = limits[name]
    known("limit " .. name, limit, set("least", "most"))
    list[#list + 1] = { figure = name, least = limit.least, most = limit.most }
  end
  return list
end

-- keep = "all", { best = N, by = FIGURE, highest = true }, { pareto = { FIGURE, highest = { FIGURE } } },
-- { failures = N }
local function keep_of(keep, plan)
  plan.aims = {}
  if keep == nil or keep == "all" then plan.keep = "all"; return end
  if type(keep) ~= "table" then wrong("keep is 'all', or a table with best, pareto or failures") end
  known("keep", keep, set("best", "by", "highest", "pareto", "failures"))
  if keep.best then
    if keep.by == nil then wrong("keep: best by what? Name a figure, such as by = \"efficiency\"") end
    plan.keep, plan.most = "best", keep.best
    plan.aims[1] = { figure = tostring(keep.by), highest = keep.highest == true }
  elseif keep.pareto then
    plan.keep = "pareto"
    for key in pairs(keep.pareto) do
      if type(key) ~= "number" then known("keep pareto", { [key] = true }, set("highest")) end
    end
    for _, name in ipairs(keep.pareto) do plan.aims[#plan.aims + 1] = { figure = name, highest = false } end
    for _, name in ipairs(keep.pareto.highest or {}) do
      plan.aims[#plan.aims + 1] = { figure = name, highest = true }
    end
  else
    plan.keep, plan.most = "failures", keep.failures
  end
end

-- Figures that limits and keep name are kept without being asked for.
local function figures_of(asked, plan, derived)
  local is_there, figures = {}, {}
  for _, name in ipairs(derived) do is_there[name] = true end
  local function add(name)
    if not is_there[name] then is_there[name] = true; figures[#figures + 1] = name end
  end
  local usual = { "input_w", "loss_w", "efficiency", "part_hottest_c", "headroom_used" }
  for _, name in ipairs(asked or usual) do add(name) end
  for _, limit in ipairs(plan.limits) do add(limit.figure) end
  for _, aim in ipairs(plan.aims) do add(aim.figure) end
  return figures
end

local plan_words = set("adapter", "axes", "sample", "seed", "figures", "derive", "derived", "limits", "keep")

function sweep.state(options)
  known("sweep", options, plan_words)
  local adapter = options.adapter
  if type(adapter) == "string" then adapter = binding.script(adapter) end
  if type(adapter) ~= "table" or not adapter.draft then
    wrong("sweep: adapter is no adapter; name its script, or hand it over")
  end
  local plan = { sample = options.sample, seed = options.seed, limits = limits_of(options.limits) }
  plan.axes = axes_of(adapter, options.axes or {})
  plan.derived, plan.derive = derived_of(options)
  keep_of(options.keep, plan)
  plan.figures = figures_of(options.figures, plan, plan.derived)
  binding.state_plan(plan)
  return adapter
end

-- ------------------------------------------------------------------ swaps --

local shown = { "case_hottest_c", "loss_w", "headroom_used", "efficiency" }

local function more_is_better(figure)
  return figure:find("efficiency", 1, true) or figure:find "%.life_h$"
end

-- The figures at every operating set, taken together: the mean of loss and efficiency, the worst of the rest.
local function together(design, settings, sets, names)
  local sum, broken, n = {}, {}, 0
  for _, at in ipairs(sets) do
    local merged = {}
    for name, text in pairs(at) do merged[name] = text end
    for name, text in pairs(settings) do merged[name] = text end
    local figures, more = design:figures(merged, names)
    if not figures then return nil, more end
    n = n + 1
    for name, value in pairs(figures) do
      local mean = name:find("loss", 1, true) or name:find("efficiency", 1, true)
      local worst = more_is_better(name) and math.min or math.max
      sum[name] = mean and (sum[name] or 0) + value or worst(sum[name] or value, value)
    end
    for _, limit in ipairs(more) do
      local key = limit[1] .. ": " .. limit[2]
      broken[key] = math.max(broken[key] or 0, limit[3])
    end
  end
  for name, value in pairs(sum) do
    if name:find("loss", 1, true) or name:find("efficiency", 1, true) then sum[name] = value / n end
  end
  return sum, broken
end

-- A limit that was broken before counts as broken anew when this much more of its rating is used: less moves with
-- every watt (common practice, no source).
local worse_by = 0.1

-- What a swap does to limits, against those broken `before`: texts of those that held and are broken now, and of
-- those broken before that a swap makes worse by a percent or more; is any of it a reason to rank the swap last?
local function faults(broken, before)
  local breaks, worsens, grave = {}, {}, false
  for _, key in ipairs(sorted_keys(broken)) do
    local now, was = broken[key], before[key]
    if not was then
      breaks[#breaks + 1] = ("%s at %.0f %%"):format(key, 100 * headroom.told(now))
    elseif now - was >= 0.01 then
      worsens[#worsens + 1] = ("%s at %.0f %%, was %.0f %%"):format(key, 100 * headroom.told(now),
        100 * headroom.told(was))
    end
    grave = grave or now - (was or 0) >= worse_by
  end
  return breaks, worsens, grave
end

-- Sound swaps first, then those that break a limit, then those without a solution; in each by the figure.
local function rank(rows, by, class)
  local sign = more_is_better(by) and -1 or 1
  table.sort(rows, function(a, b)
    if class[a] ~= class[b] then return class[a] < class[b] end
    local x, y = a.figures and a.figures[by], b.figures and b.figures[by]
    if x and y and x ~= y then return sign * x < sign * y end
    return a.place .. " " .. a.part < b.place .. " " .. b.part
  end)
end

-- Words in lines of at most 78 columns.
local function listed(names)
  local lines = { " " }
  for i, name in ipairs(names) do
    local piece = " " .. name .. (i < #names and "," or "")
    if #lines[#lines] > 1 and #lines[#lines] + #piece > 78 then lines[#lines + 1] = " " end
    lines[#lines] = lines[#lines] .. piece
  end
  return table.concat(lines, "\n")
end

local function add_candidates(adapter, wanted, views)
  local places, all = {}, {}
  for _, place in ipairs(adapter.draft:filled()) do
    local name = place[1] .. "." .. place[2]
    all[#all + 1] = name
    if wanted == nil or wanted == name then
      local entry = { name = name, part = place[3], model = place.model, candidates = {} }
      for _, view in ipairs(views) do
        for part_name, part in pairs(view) do
          local fits, there = adapter.draft:takes(place[1], place[2], part)
          if fits and part_name ~= place[3] then
            if not there then adapter.draft:alternative(place[1], place[2], part) end
            entry.candidates[#entry.candidates + 1] = part_name
          end
        end
      end
      places[#places + 1] = entry
    end
  end
  if wanted and #places == 0 then
    wrong("no part stands at '%s'; parts stand at:\n%s", wanted, listed(all))
  end
  return places
end

-- What a ranking of parts in these places must not be taken for: a larger fuse resists less, and protects less.
local function cautions_of(places)
  local list = {}
  for _, place in ipairs(places) do
    if place.model == "fuse" and #place.candidates > 0 then
      list[#list + 1] = ("%s: a larger fuse loses less and protects less; that it opens in a fault is not computed, so "
        .. "do not choose it by its loss"):format(place.name)
    end
  end
  return list
end

-- Try every part of `views` in every place (or the one that is wanted); options: place, views, by, sets.
-- `unit` is that of a setting that is ranked by, whose figures are in SI; nil for a figure, whose name says its own.
-- `case` of the result says what case_hottest_c is: the case hot spot, or the hottest face's mean; nil without a case.
-- `cautions` says what the ranking does not tell of some places.
-- `broken` of it lists the limits that are broken as it stands; a swap has `breaks` and `worsens`.
function sweep.swap(adapter, options)
  if type(adapter) ~= "table" or not adapter.draft then
    wrong("the script returns no adapter; end it with: return charger")
  end
  local places = add_candidates(adapter, options.place, options.views)
  local design, names = adapter:finish(), { table.unpack(shown) }
  local case = design:case_hottest()
  local by = options.by or (case and "case_hottest_c" or "loss_w")
  names[#names + 1] = by
  local base, before = together(design, {}, options.sets, names)
  if not base then wrong("the adapter as it stands has no solution: %s", before) end
  if base[by] == nil then
    wrong("'%s' has no value %s; rank by another figure", by,
      by == "case_hottest_c" and not case and "since the script describes no case" or "at this operating set")
  end
  local rows, class = {}, {}
  for _, place in ipairs(places) do
    for _, part in ipairs(place.candidates) do
      local figures, broken = together(design, { [place.name] = part }, options.sets, names)
      local row = { place = place.name, part = part, instead_of = place.part, figures = figures }
      if figures then
        local grave
        row.breaks, row.worsens, grave = faults(broken, before)
        class[row] = grave and 1 or 0
      else
        row.breaks, row.worsens, class[row] = { broken }, {}, 2
      end
      rows[#rows + 1] = row
    end
  end
  rank(rows, by, class)
  return { schema = "heatledger.swap/1", by = by, unit = design:unit(by),
    case = case, base = base, broken = faults(before, {}), cautions = cautions_of(places), swaps = rows }
end

-- For the swap command: part files and operating sets as its options name them.
function sweep.swap_command(adapter, options)
  local hl = require "heatledger"
  local views, sets = {}, {}
  if #options.files > 0 then views[1] = hl.parts(options.files) end
  if options.catalogue then views[#views + 1] = hl.catalogue() end
  if #views == 0 then wrong("name parts to try: --catalogue, --parts FILE, or both") end
  for _, at in ipairs(options.at) do
    local made = {}
    for name, text in at:gmatch("%s*([^,=]+)=([^,]*)") do made[name] = text end
    if next(made) == nil then wrong("--at %s: write NAME=VALUE,NAME=VALUE", at) end
    sets[#sets + 1] = made
  end
  if #sets == 0 then sets[1] = {} end
  return sweep.swap(adapter, { place = options.place, by = options.by, views = views, sets = sets })
end

return sweep
