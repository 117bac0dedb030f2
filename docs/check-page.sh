#!/usr/bin/env bash
# Opens the page for a phone in a real browser, headless, at the widths of phones, in light and
# dark, and measures it there: nothing stands beyond the edge, every word has its contrast, every
# link is large enough for a finger. Says "not run" where there is no browser.
#
#   docs/check-page.sh            makes the page from the demonstration room and measures it
#   docs/check-page.sh PAGE.html  measures that page
#   SHOTS=FOLDER docs/check-page.sh   leaves a picture of each width there as well
#   SCRUPLE=target/debug/scruple ...  takes that program
set -euo pipefail
top=$(cd "$(dirname "$0")/.." && pwd)

browser=""
for name in ${BROWSER_TO_MEASURE:-chromium chromium-browser google-chrome}; do
    if command -v "$name" > /dev/null; then browser=$name; break; fi
done
if [ -z "$browser" ]; then
    echo "not run: there is no browser here to open the page in (Debian: apt-get install chromium)"
    exit 0
fi

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
page=${1:-}
if [ -z "$page" ]; then
    scruple=${SCRUPLE:-$top/target/release/scruple}
    if [ ! -x "$scruple" ]; then (cd "$top" && cargo build --release --quiet); fi
    at="2001-03-08 19:30"
    "$scruple" demo "$work/room" --now "$at" > /dev/null
    page=$work/page.html
    "$scruple" today --book "$work/room/room.scruple" --now "$at" --html "$page" > /dev/null
fi

# The page stands in a frame as wide as a phone, since a headless window is not made so narrow.
measure() { # width scheme
    {
        echo '<!DOCTYPE html><meta charset="utf-8"><style>body{margin:0}iframe{border:0;display:block}</style>'
        echo "<script>const page = '$(base64 -w0 "$page")', width = $1, scheme = '$2';</script>"
        cat << 'HTML'
<pre id="result">no result</pre><script>
const text = new TextDecoder().decode(Uint8Array.from(atob(page), c => c.charCodeAt(0)));
const frame = document.createElement('iframe');
frame.style.width = width + 'px';
frame.style.height = '800px';
frame.srcdoc = text;
const faults = [];
let words = 0, links = 0, lowest = 99, lowestMark = 99, smallest = 999, narrowest = 999;
const numbers = colour => colour.match(/[\d.]+/g).map(Number);
// Relative luminance and contrast as WCAG 2.2 defines them.
const luminance = colour => {
  const [r, g, b] = numbers(colour).slice(0, 3).map(v => v / 255)
    .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
};
const contrast = (a, b) => {
  const [dark, light] = [luminance(a), luminance(b)].sort((x, y) => x - y);
  return (light + 0.05) / (dark + 0.05);
};
frame.onload = () => {
  try { look(); } catch (error) { faults.push('the measuring failed: ' + error); }
  document.getElementById('result').textContent =
    `${width} px, ${scheme}: ${words} words and numbers, ${links} links; ` +
    `least contrast ${lowest.toFixed(1)}, of a mark ${lowestMark.toFixed(1)}; ` +
    `smallest type ${smallest.toFixed(1)} px; smallest link ${narrowest.toFixed(0)} px\n` +
    faults.map(fault => 'FAULT ' + fault).join('\n') + '\nEND';
  frame.style.height = frame.contentDocument.documentElement.scrollHeight + 'px';
  if (location.hash === '#picture') document.getElementById('result').remove();
};
const look = () => {
  const inside = frame.contentDocument, view = frame.contentWindow;
  const style = element => view.getComputedStyle(element);
  const dark = view.matchMedia('(prefers-color-scheme: dark)').matches;
  if (dark !== (scheme === 'dark')) faults.push(`the browser is not ${scheme}`);
  const root = inside.documentElement;
  if (root.scrollWidth > root.clientWidth) faults.push(`the page is ${root.scrollWidth} px wide`);
  const clear = colour => numbers(colour)[3] === 0;
  const behind = element => {
    if (element.ownerSVGElement && element.classList.contains('over')) return style(element.ownerSVGElement).color;
    for (let e = element; e; e = e.parentElement) {
      const colour = style(e).backgroundColor;
      if (!clear(colour)) return colour;
    }
    return 'rgb(255, 255, 255)';
  };
  const walk = inside.createTreeWalker(inside.body, NodeFilter.SHOW_TEXT);
  for (let node; (node = walk.nextNode());) {
    if (!node.textContent.trim()) continue;
    const element = node.parentElement, seen = style(element);
    const range = inside.createRange();
    range.selectNodeContents(node);
    const place = range.getBoundingClientRect();
    if (place.width === 0) continue;
    words++;
    const said = node.textContent.trim().slice(0, 40);
    if (place.right > width + 0.5 || place.left < -0.5) faults.push(`beyond the edge: ${said}`);
    const svg = element.ownerSVGElement;
    const ratio = contrast(svg ? seen.fill : seen.color, behind(element));
    const figure = element.closest('.figure') || svg;
    lowest = Math.min(lowest, ratio);
    if (figure) lowestMark = Math.min(lowestMark, ratio);
    if (ratio < (figure ? 7 : 4.5)) faults.push(`contrast ${ratio.toFixed(2)}: ${said}`);
    const scale = svg ? svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : 1;
    const size = parseFloat(seen.fontSize) * scale;
    smallest = Math.min(smallest, size);
    if (size < (svg ? 9 : 14)) faults.push(`type of ${size.toFixed(1)} px: ${said}`);
    if (svg) {
      const box = svg.getBoundingClientRect();
      if (place.right > box.right + 1 || place.bottom > box.bottom + 1) faults.push(`cut off in a drawing: ${said}`);
    }
  }
  for (const link of inside.querySelectorAll('a, button, input, summary')) {
    const place = link.getBoundingClientRect();
    links++;
    narrowest = Math.min(narrowest, place.width, place.height);
    // Target size (enhanced), WCAG 2.2, 2.5.5: 44 by 44 CSS pixels.
    if (place.width < 44 || place.height < 44) faults.push(`${place.width.toFixed(0)} by ${place.height.toFixed(0)} px to tap: ${link.textContent}`);
  }
  for (const drawing of inside.querySelectorAll('svg')) {
    if (drawing.getBoundingClientRect().right > width) faults.push('a drawing stands beyond the edge');
  }
  if (view.performance.getEntriesByType('resource').length) faults.push('the page fetched something');
  if (inside.scripts.length) faults.push('the page holds a script');
};
document.body.append(frame);
</script>
HTML
    } > "$work/measure.html"
    local scheme=1
    if [ "$2" = dark ]; then scheme=0; fi
    run=(timeout 60 "$browser" --headless --no-sandbox --disable-gpu --hide-scrollbars --no-first-run
        --user-data-dir="$work/profile" --blink-settings=preferredColorScheme=$scheme --virtual-time-budget=5000)
    "${run[@]}" --dump-dom "file://$work/measure.html" 2> /dev/null > "$work/dom.html" || true
    sed -n '/<pre id="result">/,/END/p' "$work/dom.html" | sed 's/.*<pre id="result">//; /^END/d; s/&amp;/\&/g; /^$/d' > "$work/result"
    if ! grep -q "$1 px, $2" "$work/result"; then
        echo "not run: $browser gave no measures at $1 px, $2"
        return 2
    fi
    cat "$work/result"
    if [ -n "${SHOTS:-}" ]; then
        mkdir -p "$SHOTS"
        "${run[@]}" --window-size="500,${SHOT_HEIGHT:-6000}" --screenshot="$SHOTS/page-$1-$2.png" "file://$work/measure.html#picture" 2> /dev/null
    fi
    ! grep -q '^FAULT' "$work/result"
}

faulty=0
for width in 320 390; do
    for scheme in light dark; do
        measure "$width" "$scheme" || faulty=1
    done
done
exit "$faulty"
