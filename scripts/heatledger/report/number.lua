-- report.number: figures as a reader wants them, with the digits that the data deserve.

local headroom = require "heatledger.headroom"

local number = {}

local space = "\u{a0}" -- a figure and its unit stay on one line

-- Three significant digits, four above 100: parts and instruments are no better.
local function plain(value)
  local size = math.abs(value)
  if size >= 100 then return ("%.0f"):format(value) end
  if size >= 10 then return ("%.1f"):format(value) end
  if size >= 1 then return ("%.2f"):format(value) end
  if size >= 0.0005 then return ("%.3f"):format(value) end
  return "0"
end

function number.watts(value)
  if not value then return "-" end
  if math.abs(value) >= 100 then return ("%.1f%sW"):format(value, space) end
  if math.abs(value) < 0.1 and math.abs(value) >= 0.00005 then
    return ("%.3g%smW"):format(1000 * value, space)
  end
  return plain(value) .. space .. "W"
end

function number.celsius(value, digits)
  return value and (("%%.%df%%s°C"):format(digits or 0)):format(value, space) or "-"
end

function number.percent(share, digits)
  if share == math.huge then return "over" end
  return share and (("%%.%df%s%%%%"):format(digits or 0, space)):format(100 * share) or "-"
end

-- Used share of a limit.
function number.used(share) return number.percent(headroom.told(share)) end

-- Value with its unit; temperatures are in degC already.
function number.with_unit(value, unit)
  if not value then return "-" end
  if unit == "degC" then return number.celsius(value) end
  if unit == "W" then return number.watts(value) end
  if unit == "1" then return plain(value) end
  local size, prefix, factor = math.abs(value), "", 1
  for _, step in ipairs { { 1e9, "G" }, { 1e6, "M" }, { 1e3, "k" }, { 1, "" }, { 1e-3, "m" }, { 1e-6, "µ" },
    { 1e-9, "n" },
    { 1e-12, "p" } } do
    if size >= step[1] * 0.9995 then
      factor, prefix = step[1], step[2]
      break
    end
  end
  if unit == "h" or unit:find "[%^/]" then factor, prefix = 1, "" end
  return ("%s%s%s%s"):format(plain(value / factor), space, prefix, unit)
end

number.plain = plain

return number
