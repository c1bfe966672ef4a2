-- ends with: lies outside the script's folder
local b = require "heatledger.binding"
b.script "/etc/passwd"
