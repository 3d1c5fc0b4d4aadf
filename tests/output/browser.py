# SPDX-License-Identifier: GPL-3.0-or-later
"""Pages looked at by a browser: Chromium, headless and without network. Pages are
test copies with a script that measures them at their exact width (each in a frame of
its own, since a window cannot be narrower than 500 px) and sends what it found."""
import html
import json
import os
import re
import shutil
import subprocess

# Phone, tablet and laptop in CSS pixels.
SCREENS = {390: 844, 820: 1180, 1440: 900}

FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync",
         "--hide-scrollbars", "--enable-logging=stderr", "--v=0"]

MEASURE = r"""
addEventListener('load', function () {
  var wide = innerWidth, high = innerHeight, found = {wide: wide, faults: []};
  function fault(text, element) {
    if (found.faults.length === 12) return;
    found.faults.push(text + (element ? ': <' + element.tagName + ' ' + (element.id ||
      element.getAttribute('class') || '') + '> ' + element.textContent.slice(0, 50) : ''));
  }
  function apart(a, b, slack) {
    return a.right <= b.left + slack || b.right <= a.left + slack ||
           a.bottom <= b.top + slack || b.bottom <= a.top + slack;
  }
  function shown(e) {
    var s = getComputedStyle(e), r = e.getBoundingClientRect();
    return s.display !== 'none' && s.visibility !== 'hidden' && r.width > 1 && r.height > 1;
  }
  function written(e) { /* has text of its own */
    return [].some.call(e.childNodes, function (n) {
      return n.nodeType === 3 && n.textContent.trim();
    });
  }
  function clear(a, b) { /* apart piece by piece: columns break a block in pieces */
    return [].every.call(a.getClientRects(), function (p) {
      return [].every.call(b.getClientRects(), function (q) { return apart(p, q, 1); });
    });
  }
  if (document.documentElement.scrollWidth > wide)
    fault('page is ' + document.documentElement.scrollWidth + ' px wide');
  [].forEach.call(document.querySelectorAll('.scroll'), function (e) {
    if (wide > 640 && e.scrollWidth > e.clientWidth + 1) fault('cut at its side', e);
  });
  var all = [].slice.call(document.body.querySelectorAll('*')).filter(function (e) {
    /* Headings of a table that has become cards are kept for ears only. */
    var heading = e.closest('thead');
    if (heading && getComputedStyle(heading).position === 'absolute') return false;
    return !e.closest('svg') && !e.closest('.scroll *') && !e.closest('script') && shown(e);
  });
  all.forEach(function (e) {
    var r = e.getBoundingClientRect(), s = getComputedStyle(e);
    if (r.right > wide + 1 || r.left < -1) fault('beyond the screen', e);
    if (written(e) && e.scrollWidth > e.clientWidth + 1 && s.display !== 'inline' &&
        e.clientWidth > 1) fault('overflows', e);
    var parts = [].slice.call(e.children).filter(function (c) {
      var d = getComputedStyle(c);
      return shown(c) && d.display !== 'inline' && d.position === 'static';
    });
    for (var i = 0; i < parts.length; i++)
      for (var k = i + 1; k < parts.length; k++)
        if (!clear(parts[i], parts[k])) fault('overlaps its sibling', parts[k]);
  });
  [].slice.call(document.querySelectorAll('svg[viewBox]')).forEach(function (svg) {
    var texts = [].slice.call(svg.querySelectorAll('text'));
    var scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
    texts.forEach(function (t, i) {
      var size = parseFloat(getComputedStyle(t).fontSize) * scale;
      if (size < 11) fault('letters of ' + size.toFixed(1) + ' px', t);
      var box = t.getBoundingClientRect(), frame = svg.getBoundingClientRect();
      if (box.right > frame.right + 1 || box.left < frame.left - 1) fault('leaves the drawing', t);
      texts.slice(i + 1).forEach(function (u) {
        if (!apart(box, u.getBoundingClientRect(), 3)) fault('on another text', u);
      });
    });
  });
  /* WCAG 2.2, success criterion 1.4.3 and its definition of contrast ratio. */
  function light(colour) {
    var c = colour.match(/[\d.]+/g).slice(0, 3).map(function (v) {
      v = v / 255;
      return v <= 0.04045 ? v / 12.92 : Math.pow((v + 0.055) / 1.055, 2.4);
    });
    return 0.2126 * c[0] + 0.7152 * c[1] + 0.0722 * c[2];
  }
  function ground(e) {
    for (; e; e = e.parentElement) {
      var c = getComputedStyle(e).backgroundColor;
      if (!/^rgba\(.*, 0\)$/.test(c) && c !== 'transparent') return c;
    }
    return 'rgb(255, 255, 255)';
  }
  all.forEach(function (e) {
    if (!written(e)) return;
    var a = light(getComputedStyle(e).color), b = light(ground(e));
    var ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 4.5) fault('contrast ' + ratio.toFixed(1), e);
  });
  var level = 0;
  [].forEach.call(document.querySelectorAll('h1,h2,h3,h4'), function (h) {
    var now = +h.tagName[1];
    if (now > level + 1) fault('heading jumps from ' + level, h);
    level = now;
  });
  var ids = {};
  [].forEach.call(document.querySelectorAll('[id]'), function (e) {
    if (ids[e.id]) fault('id twice', e);
    ids[e.id] = true;
  });
  [].forEach.call(document.querySelectorAll('img:not([alt]),svg[viewBox]:not([aria-label])'),
    function (e) { fault('no words for it', e); });
  [].forEach.call(document.querySelectorAll('table'), function (e) {
    if (!e.caption || !e.caption.textContent) fault('table without caption', e);
  });
  found.bottoms = {};
  ['h1', '#answer', '.caution'].forEach(function (s) {
    var e = document.querySelector(s);
    found.bottoms[s] = e ? e.getBoundingClientRect().bottom / high : null;
  });
  var map = document.querySelector('#zone-figure svg');
  if (map) found.map = map.getBoundingClientRect().width;
  var fold = document.getElementById('all-heights'), trade = document.querySelector('table.trade');
  if (fold && trade) {
    found.fold = [shown(trade)];
    fold.click();
    found.fold.push(shown(trade));
    fold.click();
  }
  var range = document.querySelector('input[type=range]');
  if (range) {
    var line = document.getElementById('line-90'), said = document.getElementById('said');
    var legend = function () { /* the height it tells, and what of the plan is in sight */
      return [document.querySelector('#zone-height text').textContent,
        [].filter.call(document.querySelectorAll('#zone-figure .m-plan'), function (e) {
          return getComputedStyle(e).opacity > 0;
        }).length];
    };
    found.slider = {shown: shown(range), legend: legend(), label: range.labels.length && range.labels[0].textContent,
                    tab: range.tabIndex, before: line && line.getAttribute('d'), moves: []};
    for (var v = +range.min; v <= +range.max; v++) {
      range.value = v;
      range.dispatchEvent(new Event('input', {bubbles: true}));
      found.slider.moves.push([line && line.getAttribute('d'), said.textContent, legend()]);
    }
    document.getElementById('back').click();
    found.slider.after = line && line.getAttribute('d');
    found.slider.legend_after = legend();
  }
  parent.postMessage({name: window.name, found: found}, '*');
});
"""

COLLECT = r"""
var seen = {};
addEventListener('message', function (e) {
  seen[e.data.name] = e.data.found;
  document.getElementById('found').textContent = JSON.stringify(seen);
});
"""


def chromium(folder, *arguments):
    """Runs the browser; returns stdout and what pages said on the console."""
    profile = os.path.join(folder, "profile")
    shutil.rmtree(profile, ignore_errors=True)
    done = subprocess.run(["chromium", *FLAGS, f"--user-data-dir={profile}", *arguments],
                          capture_output=True, text=True, errors="replace")
    console = [line for line in done.stderr.splitlines() if "CONSOLE" in line]
    return done.stdout, console


def measure(folder, pages, widths=tuple(SCREENS)):
    """{page: {width: found}} of {name: path of an HTML file}, and the console."""
    frames = []
    for name, path in pages.items():
        with open(path, encoding="utf-8") as f:
            text = f.read()
        copy = os.path.join(folder, f"measured-{name}.html")
        with open(copy, "w", encoding="utf-8") as f:
            f.write(text.replace("</head>", f"<script>{MEASURE}</script></head>", 1))
        frames += [f"<iframe name='{name} {width}' src='{copy}' style='border:0;width:{width}px;"
                   f"height:{SCREENS[width]}px'></iframe>" for width in widths]
    host = os.path.join(folder, "host.html")
    with open(host, "w", encoding="utf-8") as f:
        f.write(f"<!DOCTYPE html><title>host</title><pre id='found'></pre><script>{COLLECT}"
                f"</script>{''.join(frames)}")
    out, console = chromium(folder, "--window-size=1600,1200", "--virtual-time-budget=20000",
                            "--dump-dom", f"file://{host}")
    found = re.search(r'<pre id="found">(.*?)</pre>', out, re.S)
    seen = json.loads(html.unescape(found.group(1))) if found and found.group(1) else {}
    return {name: {width: seen.get(f"{name} {width}") for width in widths}
            for name in pages}, console


def darkened(folder, name, path):
    """A copy of a page that is dark on every screen."""
    with open(path, encoding="utf-8") as f:
        text = f.read()
    query = "@media screen and (prefers-color-scheme: dark)"
    assert query in text
    copy = os.path.join(folder, f"dark-{name}.html")
    with open(copy, "w", encoding="utf-8") as f:
        f.write(text.replace(query, "@media screen"))
    return copy


def without_scripts(folder, path):
    """Text of the page as it stands on a screen when no script runs (its own policy
    forbids them): printed, with the rules for paper put away."""
    with open(path, encoding="utf-8") as f:
        text = f.read()
    policy = "script-src 'unsafe-inline'"
    assert policy in text
    copy, pdf = os.path.join(folder, "plain.html"), os.path.join(folder, "plain.pdf")
    with open(copy, "w", encoding="utf-8") as f:
        f.write(text.replace(policy, "script-src 'none'").replace("@media print", "@media speech"))
    chromium(folder, "--no-pdf-header-footer", f"--print-to-pdf={pdf}", f"file://{copy}")
    return subprocess.run(["pdftotext", pdf, "-"], capture_output=True, text=True,
                          check=True).stdout


def printed(folder, path, paper):
    """(pages, paper, text, {word: height in points}) of the page printed to PDF on a paper."""
    with open(path, encoding="utf-8") as f:
        text = f.read()
    copy, pdf = os.path.join(folder, "print.html"), os.path.join(folder, "print.pdf")
    with open(copy, "w", encoding="utf-8") as f:
        f.write(text.replace("</head>", f"<style>@page{{size:{paper}}}</style></head>", 1))
    chromium(folder, "--no-pdf-header-footer", f"--print-to-pdf={pdf}", f"file://{copy}")
    info = subprocess.run(["pdfinfo", pdf], capture_output=True, text=True, check=True).stdout
    words = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True,
                           check=True).stdout
    size = re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", info)
    boxes = subprocess.run(["pdftotext", "-bbox", pdf, "-"], capture_output=True, text=True,
                           check=True).stdout
    heights = {word: float(low) - float(high) for high, low, word in
               re.findall(r'yMin="([\d.]+)" xMax="[\d.]+" yMax="([\d.]+)">([^<]*)<', boxes)}
    return int(re.search(r"Pages:\s+(\d+)", info).group(1)), \
        (float(size.group(1)), float(size.group(2))), words, heights
