-- report.style: the one style sheet of a report: light, dark and print; phone and desk.

return [[
:root{color-scheme:light dark;--paper:#fff;--ink:#1d2126;--soft:#59616b;--rule:#c9cfd6;--panel:#f4f6f8;--link:#0b5394;
--stream:#6f93bd;--lost:#c2410c;--out:#1c6b3c;--bad:#a61b1b;--track:#e3e7eb;
--m1:#0b62a4;--m2:#c2410c;--m3:#1c7a4a;--m4:#7b4bb0;--m5:#8a6a00;--m6:#59616b;
--series-0:#0b62a4;--series-1:#c2410c;--series-2:#1c7a4a;--series-3:#7b4bb0;--series-4:#8a6a00;--series-5:#59616b}
@media (prefers-color-scheme:dark){:root{--paper:#15181c;--ink:#e8eaed;--soft:#a9b1bb;--rule:#454c55;--panel:#1e2329;
--link:#8ab8ec;--stream:#4f75a3;--lost:#f58a54;--out:#6cc493;--bad:#ff8f8f;--track:#333a42;
--m1:#6ab0ef;--m2:#f58a54;--m3:#6cc493;--m4:#bb97ea;--m5:#d9b64a;--m6:#a9b1bb;
--series-0:#6ab0ef;--series-1:#f58a54;--series-2:#6cc493;--series-3:#bb97ea;--series-4:#d9b64a;--series-5:#a9b1bb}}
*{box-sizing:border-box}
html{font:16px/1.5 system-ui,"Segoe UI",sans-serif;background:var(--paper);color:var(--ink);
-webkit-text-size-adjust:100%}
body{margin:0 auto;padding:1rem;max-width:72rem}
h1{font-size:1.6rem;line-height:1.25;margin:.4rem 0}
li{overflow-wrap:anywhere}h2{font-size:1.2rem;margin:2.2rem 0 .6rem;padding-top:.6rem;border-top:2px solid var(--rule)}
p{margin:.5rem 0;max-width:62rem}
.soft{color:var(--soft)}
.caution{border:2px solid var(--lost);border-radius:6px;padding:.6rem .8rem;background:var(--panel);max-width:none}
.bad{color:var(--bad);font-weight:600}
.good{color:var(--out);font-weight:600}
dl.key{display:grid;grid-template-columns:repeat(4,1fr);gap:.6rem;margin:1rem 0}
dl.key div{background:var(--panel);border-radius:6px;padding:.5rem .7rem}
dl.key dt{color:var(--soft);font-size:.85rem;line-height:1.3}
dl.key dd{margin:0;font-size:1.25rem;font-weight:600;line-height:1.3;overflow-wrap:anywhere}
dl.key dd small{display:block;font-size:.85rem;font-weight:400;color:var(--soft)}
.pair{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,26rem),1fr));gap:1.2rem;align-items:start}
figure{margin:0 0 1rem}
figcaption{color:var(--soft);font-size:.9rem;margin:.3rem 0}
svg{display:block;width:100%;height:auto;max-width:40rem;font-family:system-ui,"Segoe UI",sans-serif;font-size:12px}
svg text{fill:currentColor}
svg .stream{fill:var(--stream);stroke:none}
svg .port{fill:var(--out)}
svg .lead{fill:none;stroke:var(--rule);stroke-dasharray:2 3}
svg .lost{fill:none;stroke:var(--lost)}
svg .out{font-weight:600;fill:var(--out)}
svg .loss{font-weight:600;fill:var(--lost)}
svg .on{text-anchor:middle}
svg .end{text-anchor:end}
svg .edge{fill:none;stroke:var(--ink);stroke-width:.8}
svg .edge.hot{stroke-width:2.6}
svg .mark{fill:none;stroke-width:1.6}
table{border-collapse:collapse;width:100%;font-size:.9rem;line-height:1.35;margin:.4rem 0 1rem;
font-variant-numeric:tabular-nums}
caption{text-align:left;color:var(--soft);padding:.2rem 0}
th,td{padding:.25rem .5rem .25rem 0;text-align:left;vertical-align:top;border-bottom:1px solid var(--rule);
overflow-wrap:break-word}
thead th{color:var(--soft);font-weight:600}
tbody th{font-weight:400;width:34%}
.law tbody th{width:52%}
th.n,td.n{text-align:right;overflow-wrap:normal;padding-right:.7rem}
td.n{white-space:nowrap}
th:last-child,td:last-child{padding-right:0}
.bar{display:flex;min-width:4.5rem;height:.85rem;margin-top:.2rem;background:var(--track);border-radius:2px;
overflow:hidden}
.bar i{display:block;height:100%}
.bar .m1{background:var(--m1)}.bar .m2{background:var(--m2)}.bar .m3{background:var(--m3)}
.bar .m4{background:var(--m4)}.bar .m5{background:var(--m5)}.bar .m6{background:var(--m6)}
.bar .m1.may{background:repeating-linear-gradient(45deg,var(--m1) 0 2px,var(--track) 2px 5px)}
.bar .m2.may{background:repeating-linear-gradient(45deg,var(--m2) 0 2px,var(--track) 2px 5px)}
.legend{display:flex;flex-wrap:wrap;gap:.3rem 1rem;list-style:none;margin:.4rem 0;padding:0;font-size:.9rem}
.legend .bar{display:inline-block;min-width:1.1rem;width:1.1rem;vertical-align:-.1rem;margin:0 .35rem 0 0}
.legend .bar i{width:100%}
details{margin:.3rem 0 .8rem}
summary{cursor:pointer;color:var(--link);font-size:.9rem}
.what{display:block;color:var(--soft);font-size:.85rem}
@media (max-width:34rem){body{padding:.7rem}h1{font-size:1.35rem}dl.key{grid-template-columns:1fr 1fr}table{
font-size:.82rem}
.wide{display:none}th,td{padding-right:.35rem}}
@media print{@page{margin:14mm}html{font-size:10.5px}body{padding:0;max-width:none}
:root{--paper:#fff;--ink:#000}h2{break-after:avoid}svg,tr,dl.key div,.caution{break-inside:avoid}
figcaption{break-before:avoid}.pair figure{break-inside:avoid}thead{display:table-header-group}
caption,thead{break-after:avoid}tbody tr:nth-child(-n+3){break-after:avoid}
tbody tr:nth-last-child(-n+3){break-before:avoid}
summary{list-style:none;color:var(--soft)}summary::after{content:" (on the screen)"}
.paper summary{display:none}.paper::details-content{content-visibility:visible;block-size:auto}svg{max-width:28rem}
.pair{grid-template-columns:1fr 1fr}.bar,dl.key div,.caution{print-color-adjust:exact;-webkit-print-color-adjust:exact}}
]]
