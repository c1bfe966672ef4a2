-- ends with: the script
local t = {}
while true do t[#t + 1] = { t } end
