-- ends with: global 'os'
return os.getenv("HOME")
