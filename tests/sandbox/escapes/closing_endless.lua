-- ends with: took more than
while true do
  pcall(function()
    local x <close> = setmetatable({}, { __close = function() while true do end end })
    error "x"
  end)
end
