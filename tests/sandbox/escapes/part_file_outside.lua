-- ends with: outside the script's folder
local b = require "heatledger.binding"
b.catalogue():read "../../../../../../../../../../etc/passwd"
