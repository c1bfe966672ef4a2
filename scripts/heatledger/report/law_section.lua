-- report.law_section: what laws and standards ask for, what was computed, and the verdict on each.

local number = require "heatledger.report.number"
local page = require "heatledger.report.page"

-- A figure of a requirement, in its unit.
local function law_figure(unit, value)
  if unit == "1" then return number.percent(value, 1) end
  return number.with_unit(value, unit)
end

local verdict_class = { meets = "good", ["falls short"] = "bad" }

-- Rows of a law or standard: one for each requirement, or one that says why there is none.
local function law_rows(rows, law)
  if not law.requirements then
    rows[#rows + 1] = { page.text(law.title) .. ('<span class="what">%s</span>'):format(page.text(law.reason)), "", "",
      page.text(law.verdict) }
    return
  end
  for _, requirement in ipairs(law.requirements) do
    local formula = requirement.unit ~= "1" and requirement.unit ~= "W" and requirement.formula ~= ""
      and "; " .. requirement.formula or ""
    rows[#rows + 1] = { page.text(("%s, %s"):format(law.title, requirement.clause)) ..
      ('<span class="what">%s%s, %s</span>')
      :format(page.text(requirement.what), page.text(formula),
        page.text(("%s V"):format(number.plain(law.mains.voltage)))),
      page.text(requirement.sense .. " " .. law_figure(requirement.unit, requirement.required)),
      page.text(law_figure(requirement.unit, requirement.found)),
      ('<span class="%s">%s</span>'):format(verdict_class[requirement.verdict] or "", page.text(requirement.verdict)) }
  end
end

-- Every harmonic that a class limits, folded.
local function harmonic_details(standard)
  local rows = {}
  for i, row in ipairs(standard.orders or {}) do
    rows[i] = { tostring(row.order), page.text(number.with_unit(row.found, "A")),
      page.text(number.with_unit(row.required, "A")),
      number.percent(row.used) }
  end
  if #rows == 0 then return "" end
  local title = ("Harmonics of the mains current, class %s"):format(standard.class:upper())
  return page.details(title, page.table(title .. (standard.reason and ": not asked for at this power" or ""),
    { { "order" },
    { "found", number = true }, { "limit", number = true }, { "used", number = true } }, rows))
end

-- The section, of what gather found.
local function law_section(found)
  local laws = found.efficiency
  if not laws then
    return page.section("law", "Laws and standards", page.paragraph(found.efficiency_reason or "not judged"))
  end
  local rows, out = {}, {}
  for _, law in ipairs(laws.laws) do law_rows(rows, law) end
  for _, standard in ipairs(laws.standards) do law_rows(rows, standard) end
  if #rows == 0 then
    return page.section("law", "Laws and standards", page.paragraph(
      "None applies: they are for adapters fed by the mains."))
  end
  out[1] = page.table("What is asked for, and what was computed", { { "law or standard, and clause" },
    { "asked", number = false }, { "found", number = true }, { "verdict" } }, rows, "law")
  for _, standard in ipairs(laws.standards) do out[#out + 1] = harmonic_details(standard) end
  out[#out + 1] = page.paragraph(laws.caution, "soft")
  return page.section("law", "Laws and standards", table.concat(out))
end

return law_section
