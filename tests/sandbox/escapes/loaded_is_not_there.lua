-- holds
local names = { "io", "os", "debug", "package" }
for _, name in ipairs(names) do
  local good = pcall(require, name)
  assert(not good, name)
end
return true
