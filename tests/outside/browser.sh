#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Protects: an SVG of a log with hostile names runs no script, opens nothing and loads nothing in a
# browser (headless Chromium), and its text is text there.
#   sh tests/outside/browser.sh BUILD
# A control page with the same browser proves that a script would have been seen.
command -v chromium > /dev/null || { echo "chromium is not installed"; exit 77; }
PATH="$(cd "$1/bin" && pwd):$PATH"
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1

cat > hostile.csv <<'END'
# shot: <script>document.title='RAN'</script>"'&]]><svg onload="document.title='RAN'"/>
# grind: </desc><script>document.title='RAN'</script>
# bean: <image href="http://127.0.0.1:1/x.png" onerror="document.title='RAN'"/>
# history: --><script>document.title='RAN'</script><!-- <?xml-stylesheet href="http://127.0.0.1:1/x.css"?>
time,pressure,a<script>document.title='RAN'</script>
0,1,1
1,9,2
2,9,3
# mark: note from=1 note="</text></svg><script>document.title='RAN'</script>"
# mark: surge from=1 to=2 channel="<script>document.title='RAN'</script>" note="javascript:document.title='RAN'"
# end: rows=3
# close: shots=1
END
shot-plot -o hostile.svg hostile.csv || exit 1
cat hostile.csv hostile.csv | sed 's/^# close.*//' > two.csv
echo '# close: shots=2' >> two.csv
shot-plot -o two.svg two.csv 2> /dev/null || exit 1
echo "<svg xmlns='http://www.w3.org/2000/svg'><title>quiet</title><script>document.title='RAN'; document.documentElement.setAttribute('ran', 'RAN')</script></svg>" > control.svg

# page NAME: the document as the browser has it after all scripts and loads.
page() {
    printf '<!DOCTYPE html><title>quiet</title><body>' > "$1.html"
    sed '/^<?xml/d' "$1.svg" >> "$1.html"
    for form in "$1.svg" "$1.html"; do
        timeout 60 chromium --headless --no-sandbox --disable-gpu --disable-dev-shm-usage \
            --user-data-dir="$work/profile" --virtual-time-budget=2000 \
            --dump-dom "file://$work/$form" 2> chromium.log > "$form.dom"
        [ -s "$form.dom" ] || { cat chromium.log; echo "chromium gave nothing for $form"; exit 1; }
    done
}
status=0
page control
grep -q 'ran="RAN"' control.svg.dom || { echo "the control script did not run: this test sees nothing"; exit 1; }
for name in hostile two; do
    page "$name"
    for form in svg html; do
        dom=$name.$form.dom
        if grep -qE '<title>RAN</title>|<script|<image|<[a-zA-Z][^>]*(onload|onerror)=' "$dom"; then
            echo "$dom: markup from the log became markup"
            status=1
        fi
    done
done
grep -q '&lt;script&gt;document.title=' hostile.svg.dom || { echo "the name is not there as text"; status=1; }
exit $status
