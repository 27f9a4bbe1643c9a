"""The report in a real browser: headless Chromium, offline, with a profile that is thrown away."""

from __future__ import annotations

import html
import json
import re
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any

FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--hide-scrollbars",
)  # fmt: skip

MEASURE = """
<!doctype html><meta charset="utf-8"><title>measure</title>
<iframe id="page" style="width:%dpx;height:2000px;border:0" srcdoc="%s"></iframe><pre id="out"></pre>
<script>
document.getElementById("page").addEventListener("load", function () {
  var doc = this.contentDocument, wide = doc.documentElement.clientWidth, out = [];
  doc.querySelectorAll("body *").forEach(function (node) {
    if (node.closest(".scroll") && !node.classList.contains("scroll")) return;
    var box = node.getBoundingClientRect();
    if (box.width > 0 && (box.right > wide + 1 || box.left < -1)) out.push(node.tagName + ": " + node.textContent.slice(0, 40));
  });
  document.getElementById("out").textContent = JSON.stringify({
    scroll: doc.documentElement.scrollWidth, client: wide, out: out, scripts: doc.scripts.length,
    keys: doc.querySelectorAll("svg.keymap rect").length, title: doc.title});
});
</script>
"""


def run(folder: Path, *arguments: str) -> str:
    program = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    assert program, "the tests need Debian's package chromium"
    with tempfile.TemporaryDirectory() as profile:
        done = subprocess.run(
            [program, *FLAGS, f"--user-data-dir={profile}", *arguments], capture_output=True, text=True, cwd=folder, check=True
        )
    return done.stdout


def measure(page: str, width: int, folder: Path) -> dict[str, Any]:
    """What the browser made of the page at this width: overflowing elements, scroll width, key count."""
    path = folder / "measure.html"
    path.write_text(MEASURE % (width, html.escape(page, quote=True)), encoding="utf-8")
    dom = run(folder, "--virtual-time-budget=4000", "--window-size=1600,2000", "--dump-dom", path.as_uri())
    found = re.search(r'<pre id="out">(.*?)</pre>', dom, re.DOTALL)
    assert found and found.group(1), dom[-2000:]
    result: dict[str, Any] = json.loads(html.unescape(found.group(1)))
    return result


def a4_pages(page: str, folder: Path) -> int:
    """How many A4 pages it prints on."""
    (folder / "page.html").write_text(page, encoding="utf-8")
    out = folder / "page.pdf"
    run(folder, "--no-pdf-header-footer", f"--print-to-pdf={out}", (folder / "page.html").as_uri())
    return len(re.findall(rb"/Type\s*/Page[^s]", out.read_bytes()))
