"""The pages without code: the notebooks served on this machine, each run as it is opened; nothing is asked of any other
machine."""
import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
import webbrowser
from pathlib import Path

START = "00_start.ipynb"
TEMPLATE = "pages"
LETTERS = "<style>body {--jp-ui-font-size1: 14px; --jp-code-font-size: 14px; --jp-widgets-font-size: 14px}</style>"
# A page is shown once it has run: only then can it go to where its address leads, and again when its controls have come
THERE = """<script>{ const look = setInterval(() => {
  const place = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (location.hash && !(place && place.getClientRects().length)) return;
  clearInterval(look);
  if (place) for (const wait of [0, 1500]) setTimeout(() => place.scrollIntoView(), wait);
}, 200); }</script>"""


def notebooks(folder=None):
    """The folder of the notebooks: the one given, `notebooks` here, or the one beside the kit.

    Raises FileNotFoundError where none of them holds the first page.
    """
    tried = [Path(folder)] if folder else [Path("notebooks"), Path(__file__).parents[2] / "notebooks"]
    for each in tried:
        if (each / START).is_file():
            return each.resolve()
    raise FileNotFoundError(f"no {START} in {' or '.join(map(str, tried))}; say where the notebooks are: "
                            "--notebooks FOLDER (they come with the kit's repository)")


def template(folder):
    """Writes into a folder the page that surrounds a notebook: voila's own, without what it would fetch from other
    machines (an icon font), tables and controls in letters as large as the words'. Returns the folder, for the
    environment variable JUPYTER_PATH.

    Raises ModuleNotFoundError where voila is not installed.
    """
    try:
        from jupyter_core.paths import jupyter_path
        import voila  # noqa: F401
    except ModuleNotFoundError:
        raise ModuleNotFoundError("the pages without code need voila: pip install -e '.[kiosk]'") from None
    where = next(place for each in jupyter_path("voila", "templates") if (place := Path(each, "lab")).is_dir())
    text = (where / "index.html.j2").read_text(encoding="utf-8")
    kept = [line for line in text.split("\n") if not ("<link" in line and "https://" in line)]
    for program in ("voila", "nbconvert"):   # voila looks in both
        made = Path(folder, program, "templates", TEMPLATE)
        made.mkdir(parents=True)
        (made / "conf.json").write_text(json.dumps({"base_template": "lab"}), encoding="utf-8")
        if program == "voila":
            end = "{%- endblock notebook_css"
            styled = "\n".join(kept).replace(end, f"{LETTERS}\n{THERE}\n{end}")
            (made / "index.html.j2").write_text(styled, encoding="utf-8")
    return Path(folder)


def command(folder, port):
    """What serves the notebooks of a folder, to this machine alone."""
    return [sys.executable, "-m", "voila", str(folder), "--no-browser", "--Voila.ip=127.0.0.1", f"--port={port}",
            f"--template={TEMPLATE}",
            "--MappingKernelManager.cull_idle_timeout=1800", "--MappingKernelManager.cull_interval=120"]


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def serve(study=None, folder=None, port=None, browser=True):
    """Serves the pages until it is stopped by hand; study: folder of the study that they show, the demo where None."""
    folder, port = notebooks(folder), port or free_port()
    env = os.environ | ({"KIT_STUDY": str(Path(study).resolve())} if study else {})
    address = f"http://127.0.0.1:{port}/voila/render/{START}"
    with tempfile.TemporaryDirectory() as place:
        env["JUPYTER_PATH"] = os.pathsep.join(filter(None, (str(template(place)), env.get("JUPYTER_PATH"))))
        server = subprocess.Popen(command(folder, port), env=env)
        signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))   # the server is not left behind
        print(f"the pages: {address}\nA page takes up to a minute to come, for it is worked out as it is opened. "
              "Ctrl-C ends it.", flush=True)
        if browser:
            threading.Thread(target=_shown, args=(address, port), daemon=True).start()
        try:
            return server.wait()
        finally:
            server.terminate()


def _shown(address, port):
    """Opens the address once somebody answers there."""
    for _ in range(600):
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1):
            webbrowser.open(address)
            return
        time.sleep(0.1)
