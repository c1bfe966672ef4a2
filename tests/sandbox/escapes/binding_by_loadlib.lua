-- ends with: global 'package'
return package.loadlib("libc.so.6", "system")
