"""Prints every Python from 3.11 up that is on the path or kept by pyenv, one of each minor version but the one that runs this."""
import glob
import os
import re
import shutil
import subprocess
import sys

found = {}
names = [f"python3.{minor}" for minor in range(11, 30)]
places = [path for name in names if (path := shutil.which(name))] + sorted(glob.glob(os.path.expanduser("~/.pyenv/versions/*/bin/python")), reverse=True)
for path in places:
    said = subprocess.run([path, "-c", "import sys, venv; print(*sys.version_info[:2])"], capture_output=True, text=True, check=False)
    version = re.fullmatch(r"3 (\d+)\s*", said.stdout)   # a shim of pyenv that stands for nothing says something else
    if version and int(version[1]) >= 11 and int(version[1]) != sys.version_info.minor:
        found.setdefault(int(version[1]), path)
print("\n".join(found[minor] for minor in sorted(found)))
