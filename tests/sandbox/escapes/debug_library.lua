-- ends with: global 'debug'
return debug.getregistry()
