-- ends with: attempt to index a boolean value
getmetatable("").__index.gsub = function() return "tampered" end
