-- ends with: no message
error(nil)
