-- report.key_figures: what stands at the head of a report.

local case_map = require "heatledger.report.case_map"
local number = require "heatledger.report.number"
local page = require "heatledger.report.page"
local ranked = require "heatledger.report.ranked"
local unsolved = require "heatledger.report.unsolved"

local function key_figure(title, value, small, class)
  return ("<div><dt>%s</dt><dd%s>%s%s</dd></div>"):format(page.text(title),
    class and (' class="%s"'):format(class) or "", page.text(value),
    small and ("<small>%s</small>"):format(page.name(small)) or "")
end

-- The limit that a face, or its hottest spot, is nearest to, or nil.
local function face_limit(result, face)
  for _, entry in ipairs(ranked.limits(result)) do
    if entry.who == "face " .. face or entry.who == "face " .. face .. " spot" then return entry end
  end
end

local function bad_if(broken) return broken and "bad" or nil end

-- Is the part hotter than it may get?
local function too_hot(part)
  for _, limit in ipairs(part.headroom) do
    if limit.limit == "temperature" then return not limit.used or limit.used > 1 end
  end
end

-- How many of those asked for are not met, by computation.
local function verdict_figure(title, short, small)
  return key_figure(title, short == 0 and "met, as computed" or ("%d not met"):format(short),
    small or "no certificate", bad_if(short > 0))
end

-- What the standards beside the laws ask for (harmonics, the pulled plug): nil when they ask for nothing here.
local function standards_figure(standards)
  local asked, short, first = 0, 0, nil
  for _, standard in ipairs(standards) do
    for _, requirement in ipairs(standard.requirements or {}) do
      asked = asked + 1
      if requirement.verdict == "falls short" then
        short = short + 1
        first = first or ("%s: %s"):format(standard.title:match "^[^,]*", requirement.what:match "^[^;]*")
      end
    end
  end
  if asked == 0 then return nil end
  return verdict_figure("harmonics, plug", short, first)
end

-- HTML of the figures of gather.of: the whole first, then what is hottest, then what is asked for.
local function key_figures(found)
  local result, out = found.result, {}
  local power = result.power
  out[1] = key_figure("efficiency", number.percent(power.efficiency, 1), ("%s in, %s out")
    :format(number.watts(power.input_w),
    number.watts(power.output_w)))
  out[2] = key_figure("lost", number.watts(power.loss_w))
  local faces = case_map.faces(result)
  if faces then
    local face, most, mean_only = case_map.hottest(faces)
    local limit = face_limit(result, face)
    out[#out + 1] = key_figure(mean_only and "hottest face, mean" or "hot spot of the case",
      number.celsius(most), ("face %s%s"):format(face, limit and (", limit %s: %s"):format(
        number.celsius(limit.rated), ranked.used(limit.used)) or ""), bad_if(limit and limit.broken))
  end
  local part = ranked.hottest_part(result)
  if part then
    out[#out + 1] = key_figure("hottest part", number.celsius(part.temperature_c), ranked.name(part),
      bad_if(too_hot(part)))
  end
  local first = ranked.limits(result)[1]
  if first then
    out[#out + 1] = key_figure("gives way first", ranked.used(first.used),
      ("%s: %s"):format(first.who, first.limit), bad_if(first.broken))
  end
  local _, why, missing = unsolved.share(found.spread)
  if missing then
    out[#out + 1] = key_figure("without a solution", ("%d of %d"):format(missing, found.spread.samples),
      "samples drawn from the bands: " .. why, "bad")
  end
  if found.efficiency and #found.efficiency.laws > 0 then
    out[#out + 1] = verdict_figure("efficiency laws", found.efficiency.shortfalls)
  end
  out[#out + 1] = found.efficiency and standards_figure(found.efficiency.standards)
  return '<dl class="key">' .. table.concat(out) .. "</dl>"
end

return key_figures
