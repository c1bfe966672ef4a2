-- ends with: is not in the folder
local b = require "heatledger.binding"
b.script "/etc/passwd"
