-- ends with: global 'io'
return io.popen("id")
