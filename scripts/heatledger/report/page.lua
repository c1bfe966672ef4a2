-- report.page: HTML in small pieces.  Every text of a user's passes through `text` once.

local page = {}

local escapes = { ["&"] = "&amp;", ["<"] = "&lt;", [">"] = "&gt;", ['"'] = "&quot;", ["'"] = "&#39;" }

function page.text(value)
  return (tostring(value):gsub("[&<>\"']", escapes))
end

-- A long dotted name may break after a dot or an underscore, so that a phone can show it.
function page.name(value)
  return (page.text(value):gsub("[%._]", "%0<wbr>"))
end

-- rows: each a list of cells, a cell being HTML; columns: { title, right-aligned = true }.
function page.table(caption, columns, rows, class)
  local out = { ('<table%s><caption>%s</caption><thead><tr>'):format(class and (' class="%s"'):format(class) or "",
    page.text(caption)) }
  for _, column in ipairs(columns) do
    out[#out + 1] = ('<th scope="col"%s>%s</th>'):format(column.number and ' class="n"' or "", page.text(column[1]))
  end
  out[#out + 1] = "</tr></thead><tbody>"
  for _, row in ipairs(rows) do
    local cells = {}
    for i, column in ipairs(columns) do
      local tag = i == 1 and 'th scope="row"' or "td"
      cells[i] = ("<%s%s>%s</%s>"):format(tag, column.number and ' class="n"' or "", row[i] or "",
        i == 1 and "th" or "td")
    end
    out[#out + 1] = "<tr>" .. table.concat(cells) .. "</tr>"
  end
  out[#out + 1] = "</tbody></table>"
  return table.concat(out)
end

-- A table whose first `shown` rows are seen at once, and the other `things` on asking.
function page.long_table(caption, columns, rows, shown, things)
  if #rows <= shown + 3 then return page.table(caption, columns, rows) end
  local first, rest = {}, {}
  for i, row in ipairs(rows) do
    if i <= shown then first[i] = row else rest[i - shown] = row end
  end
  return page.table(caption, columns, first) .. page.details(("The other %d %s"):format(#rest, things),
    page.table(caption .. ", continued", columns, rest))
end

-- A picture with what it shows in words, and its figures as a table behind it.
function page.figure(picture, caption, figures, class)
  return ('<figure>%s<figcaption>%s</figcaption>%s</figure>'):format(picture, page.text(caption),
    figures and page.details("The figures of this picture", figures, class) or "")
end

-- Folded until asked for; one of class "paper" is printed unfolded.
function page.details(summary, inside, class)
  return ("<details%s><summary>%s</summary>%s</details>"):format(class and (' class="%s"'):format(class) or "",
    page.text(summary), inside)
end

function page.section(id, title, ...)
  return ('<section aria-labelledby="%s"><h2 id="%s">%s</h2>\n%s</section>\n'):format(id, id, page.text(title),
    table.concat({ ... }, "\n"))
end

function page.paragraph(text, class)
  return ("<p%s>%s</p>"):format(class and (' class="%s"'):format(class) or "", page.text(text))
end

function page.list(items)
  local out = {}
  for i, item in ipairs(items) do out[i] = "<li>" .. page.text(item) .. "</li>" end
  return "<ul>" .. table.concat(out) .. "</ul>"
end

-- A bar of parts that each fill a share of the track; shares beyond the track are cut.
function page.bar(parts, title)
  local out, used = {}, 0
  for _, part in ipairs(parts) do
    local share = math.max(0, math.min(part.share, 1 - used))
    used = used + share
    out[#out + 1] = ('<i class="%s" style="width:%.2f%%"></i>'):format(part.class, 100 * share)
  end
  return ('<span class="bar" role="img" aria-label="%s">%s</span>'):format(page.text(title), table.concat(out))
end

return page
