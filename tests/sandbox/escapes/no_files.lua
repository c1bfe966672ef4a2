-- holds
for _, name in ipairs { "io", "os", "dofile", "loadfile", "package", "debug", "collectgarbage", "arg" } do
  assert(rawget(_G, name) == nil, name)
end
return true
