-- ends with: global 'os'
os.execute("id")
