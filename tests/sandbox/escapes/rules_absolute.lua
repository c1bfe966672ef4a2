-- ends with: outside the script's folder
local b = require "heatledger.binding"
b.catalogue():read_rules "/etc/passwd"
