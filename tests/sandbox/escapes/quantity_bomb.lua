-- ends with: took more than
local b = require "heatledger.binding"
local s = ("9"):rep(1 << 20) .. " V"
while true do pcall(b.quantity, s, "V") end
