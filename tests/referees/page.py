"""The customer's page in headless Chromium: what it asks for, and how many pages it prints on.

    python page.py PAGE.html

Chromium itself calls its maker's servers; what the page asks for is told from that by the request's
initiator. Needs chromium and poppler's pdfinfo. Ends with 1 when the page asks for anything or doesn't
print on two pages.
"""
import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path

page = Path(sys.argv[1]).resolve()
with tempfile.TemporaryDirectory() as folder:
    log, pdf = Path(folder) / "net.json", Path(folder) / "page.pdf"
    subprocess.run(
        ["chromium", "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-background-networking",
         f"--user-data-dir={folder}/profile", f"--log-net-log={log}", "--no-pdf-header-footer",
         f"--print-to-pdf={pdf}", page.as_uri()],
        check=True, capture_output=True, timeout=120)
    events = json.loads(log.read_text().rstrip().rstrip(",") + ("" if log.read_text().rstrip().endswith("}") else "]}"))["events"]
    asked = set()
    for event in events:
        params = event.get("params", {})
        url, initiator = params.get("url", ""), params.get("initiator", "not an origin")
        if url and not url.startswith(("data:", "file:")) and initiator != "not an origin":
            asked.add((url, initiator))
    count = int(re.search(r"Pages:\s+(\d+)", subprocess.check_output(["pdfinfo", pdf], text=True)).group(1))
    print(f"asked for: {sorted(asked) or 'nothing'}; prints on {count} pages")
    sys.exit(bool(asked) or count != 2)
