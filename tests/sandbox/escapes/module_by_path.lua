-- ends with: is not open to scripts
require "heatledger.../../../../../etc/passwd"
