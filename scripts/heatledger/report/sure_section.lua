-- report.sure_section: how sure the figures are, and what to measure next.

local number = require "heatledger.report.number"
local page = require "heatledger.report.page"
local unsolved = require "heatledger.report.unsolved"

local function driver_table(spread, entry)
  local rows = {}
  for i = 1, math.min(6, #entry.drivers) do
    local driver = entry.drivers[i]
    rows[i] = { page.name(driver.unknown), number.percent(math.max(driver.first, 0)),
      page.bar({ { class = "m1", share = math.max(driver.first, 0) } }, number.percent(math.max(driver.first, 0))) }
  end
  return page.table(("What drives the spread of: %s"):format(spread.by_name[entry.figure].title),
    { { "unknown" }, { "its share", number = true },
    { "of the variance, by itself" } }, rows)
end

-- What separates the samples without a solution from the others.
local function separator_table(spread)
  local rows = {}
  for i = 1, math.min(6, #spread.separators) do
    local s = spread.separators[i]
    rows[i] = { page.name(s.unknown), number.percent(s.area), s.area > 0.5 and "high" or "low",
      ("%d of %d"):format(s.middle_unsolved, s.middle) }
  end
  if #rows == 0 then
    return page.paragraph "No single value separates the samples without a solution from the others."
  end
  return page.table("What separates samples without a solution from the others", { { "unknown" },
    { "area under the curve", number = true }, { "they lie", number = true },
    { "without, of those in the middle fifth of its band", number = true } }, rows)
end

-- Samples without a solution before all else: what follows says nothing of them.
local function unsolved_words(spread)
  local share, _, missing = unsolved.share(spread)
  if not share then return "" end
  local reasons = {}
  for i, entry in ipairs(spread.unsolved) do reasons[i] = ("%d: %s"):format(entry.count, entry.reason) end
  return page.paragraph(("%d of the %d samples (%s) %s no solution."):format(missing, spread.samples, share,
    missing == 1 and "has" or "have"), "bad")
    .. page.list(reasons) .. separator_table(spread)
end

local function advice(spread)
  local before, entry = spread.separators[1], spread.drivers[1]
  local first, words = entry and entry.drivers[1], {}
  if before then
    words[1] = ("Measure %s first: it decides most on whether there is a solution."):format(before.unknown)
  end
  if first and not (before and before.unknown == first.unknown) then
    words[#words + 1] = (before and "Then, to narrow %s, %s." or "To narrow %s, measure %s first."):format(
      spread.by_name[entry.figure].title, first.unknown)
  end
  return #words > 0 and page.paragraph(table.concat(words, " ")) or ""
end

local function sure_section(found)
  local spread = found.spread
  if not spread or #spread.unknowns == 0 then
    return page.section("sure", "How sure", page.paragraph(found.spread_reason
      or "No value has a band, so nothing can be said."))
  end
  local all_solve = spread.solved == spread.samples
  local rows = {}
  for _, name in ipairs { "efficiency", "loss", "case hottest" } do
    local entry = spread.by_name[name]
    if entry then
      local show = entry.unit == "1" and function(v) return number.percent(v, 1) end
        or function(v) return number.with_unit(v, entry.unit) end
      local function held(v) return page.text(v and show(v) or unsolved.word(spread)) end
      rows[#rows + 1] = { page.text(entry.title), held(entry.quantiles[1]), page.text(show(entry.central)),
        held(entry.quantiles[#spread.quantiles]) }
    end
  end
  local out = { page.paragraph(("%d samples over the bands of %d unknown values; nine cases in ten %s."):format(
    spread.samples, #spread.unknowns, all_solve and "lie between low and high"
    or "of those that solve lie between low and high. Of temperatures it is nine in ten of all samples, those "
    .. "without a solution counted as hotter than any")), unsolved_words(spread),
    page.table("The whole", { { "figure" }, { "low", number = true }, { "as stated", number = true },
      { "high", number = true } }, rows) }
  rows = {}
  table.sort(spread.limits, function(a, b)
    if a.broken ~= b.broken then return a.broken > b.broken end
    return a.limit < b.limit
  end)
  for _, limit in ipairs(spread.limits) do
    if limit.broken > 0 and #rows < 8 then
      rows[#rows + 1] = { page.name(limit.limit), number.percent(limit.broken, 1) }
    end
  end
  if #rows > 0 then
    out[#out + 1] = page.table(all_solve and "Limits that may be broken"
      or "Limits that may be broken, of samples that solve", { { "limit" }, { "in so many cases", number = true } },
      rows)
  else
    out[#out + 1] = page.paragraph(all_solve and "No limit was broken in any sample."
      or "No limit was broken in any sample that solves.")
  end
  local drivers = {}
  for i, entry in ipairs(spread.drivers) do drivers[i] = "<div>" .. driver_table(spread, entry) .. "</div>" end
  return page.section("sure", "How sure, and what to measure next", table.concat(out), '<div class="pair">'
    .. table.concat(drivers) .. "</div>", advice(spread))
end

return sure_section
