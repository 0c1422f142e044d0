"""The style sheet of a paper in HTML: on a telephone, on a screen, on A4 and Letter."""

from __future__ import annotations

STYLE = """
:root { color-scheme: light dark; --page: #ffffff; --ink: #1b1d1f; --dim: #54595e;
  --rule: #c9cdd1; --soft: #f1f3f4; --alert: #8a1c0f; --alert-page: #fdecea; }
@media screen and (prefers-color-scheme: dark) {
  :root { --page: #16181a; --ink: #e8eaec; --dim: #a7adb3; --rule: #43494f; --soft: #212529;
    --alert: #ffb4a8; --alert-page: #3d1712; } }
* { box-sizing: border-box; }
html { -webkit-text-size-adjust: 100%; text-size-adjust: 100%; }
body { margin: 0 auto; padding: 1.25rem 1rem 3rem; max-width: 54rem; background: var(--page);
  color: var(--ink); font: 1rem/1.45 system-ui, "Segoe UI", Roboto, "Helvetica Neue", Arial,
  "Noto Sans", sans-serif; font-variant-numeric: tabular-nums; overflow-wrap: break-word; }
p, td, th, dd, h1 { unicode-bidi: isolate; }
header { display: flex; justify-content: space-between; align-items: flex-start; gap: 1rem; }
header p { margin: 0; } .shop { font-weight: 700; font-size: 1.1rem; }
.paper { background: var(--ink); color: var(--page); padding: .35rem .8rem; text-align: right;
  clip-path: polygon(.6rem 0, 100% 0, 100% calc(100% - .6rem), calc(100% - .6rem) 100%, 0 100%,
  0 .6rem); }
h1 { font-size: 1.05rem; margin: 0; } .number { font-size: .9rem; }
.lead { font-size: 1.6rem; line-height: 1.2; font-weight: 600; margin: 1rem 0 .75rem; }
.alert { border: 3px solid var(--alert); background: var(--alert-page); color: var(--alert);
  font-size: 1.2rem; font-weight: 700; padding: .75rem 1rem; margin: .8rem 0 1.25rem; }
.leads { display: flex; flex-wrap: wrap; justify-content: space-between; align-items: center;
  gap: .2rem 1rem; margin: 1rem 0 .5rem; } .leads .lead { margin: 0; }
.plate { border: 2px solid var(--ink); padding: 0 .7rem; font-weight: 700; font-size: 1.3rem; }
.ended { display: flex; flex-wrap: wrap; justify-content: space-between; align-items: baseline;
  gap: 0 1rem; } .ended .price { font-weight: 700; font-size: 1.2rem; }
.small { font-size: .85rem; color: var(--dim); }
.beside { display: grid; gap: 0 1.2rem; } .beside > div { min-width: 0; }
.beside td, .beside th { padding-right: .5rem; } .beside th.right { white-space: normal; }
.beside > div > section:first-child:not(:has(h2)) { margin-top: .4rem; }
.first { border: 4px solid var(--ink); margin: 1rem 0 .5rem; padding: 0 1rem .6rem 0; }
.first .label { display: inline-block; background: var(--ink); color: var(--page);
  font-weight: 700; padding: .15rem 1.4rem .2rem .8rem;
  clip-path: polygon(0 0, 100% 0, 100% calc(100% - .6rem), calc(100% - .6rem) 100%, 0 100%); }
.first p { margin: 0; padding-left: .8rem; }
.first .when { font-size: clamp(2rem, 11vw, 4rem); line-height: 1.1; font-weight: 700;
  padding-top: .3rem; }
.dates { display: grid; grid-template-columns: repeat(auto-fit, minmax(13rem, 1fr)); gap: .5rem;
  margin: .5rem 0; }
.dates > div { display: grid; grid-template-rows: subgrid; grid-row: span 3; row-gap: 0;
  border: 2px solid var(--ink); padding: .4rem .8rem; }
.dates p { margin: 0; }
.dates .when { font-size: 1.3rem; font-weight: 700; }
.strip { display: block; width: 100%; height: auto; } .strip text { fill: var(--ink); }
.strip .on { fill: var(--page); } .strip .tape { fill: var(--ink); }
.strip .weak, .days .weak th { fill: var(--soft); background: var(--soft); }
.strip .half { fill: var(--dim); } .strip .tick { stroke: var(--rule); }
.strip .hatch { fill: var(--soft); stroke: var(--ink); stroke-dasharray: 6 3; }
.days { display: none; table-layout: fixed; text-align: center; }
.days td, .days th { padding: .25rem .2rem; }
.days tbody th { white-space: nowrap; text-align: left; }
.days thead th, .days td { text-align: center; } .days .no { background: var(--ink);
  color: var(--page); font-weight: 700; }
.groups .group th { background: var(--soft); padding: .15rem .4rem; font-weight: 400; }
.groups .group b { font-weight: 700; } .groups .note td { font-size: .85em; }
.groups .note td { border-top: 1px dashed var(--dim); color: var(--dim); }
.groups .sum td { font-weight: 700; }
section { margin-top: 1.9rem; }
header + section { margin-top: 0; }
h2 { display: flex; justify-content: space-between; align-items: baseline; gap: 1rem;
  font-size: 1.1rem; margin: 0 0 .5rem; padding-bottom: .2rem;
  border-bottom: 1px solid var(--rule); }
.remark { font-size: .85rem; font-weight: 400; color: var(--dim); }
p { margin: .3rem 0; } dl + .remark { margin-top: .9rem; }
dl { display: grid; grid-template-columns: minmax(7.5rem, max-content) 1fr; gap: .2rem 1rem;
  margin: .5rem 0; }
dt { color: var(--dim); } dd { margin: 0; }
.across { display: grid; gap: 0 1.2rem; } .across dl {
  grid-template-columns: minmax(0, max-content) minmax(4rem, 1fr); }
dt:has(+ .blank) { color: var(--ink); }
.blank { border-bottom: 1px solid var(--ink); min-height: 2rem; }
.scroll { overflow-x: auto; margin: .4rem 0 .9rem; }
table { border-collapse: collapse; width: 100%; }
td, th { text-align: left; vertical-align: top; padding: .18rem .8rem .18rem 0;
  font-weight: 400; }
td:last-child, th:last-child { padding-right: 0; }
tbody tr.row { border-bottom: 1px solid var(--soft); }
.right { text-align: right; white-space: nowrap; } td.right:last-child, th.right:last-child {
  padding-left: .8rem; } .short { white-space: nowrap; }
.head th:first-child, th[scope=row] { font-weight: 600; }
.head th { border-bottom: 1px solid var(--rule); }
thead th, .head th + th { color: var(--dim); font-size: .85em; font-weight: 400; }
.note td { color: var(--dim); } .note .i0 { color: var(--ink); font-weight: 600; }
.groups .note .i0 { color: var(--dim); font-weight: 400; }
.pair .row td:first-child { font-weight: 600; }
.i4 { padding-left: 1rem; } .i6 { padding-left: 2rem; } .i8 { padding-left: 3rem; }
.large { text-align: center; } .large p { margin: .3rem 0; }
.large .over { background: var(--ink); color: var(--page); font-size: clamp(1.4rem, 6vw, 3rem);
  font-weight: 700; padding: .4rem; }
.large .line { font-size: clamp(2.6rem, 13.5vw, 8rem); line-height: 1; font-weight: 700; }
.large .said { font-size: clamp(1.8rem, 8vw, 4.5rem); line-height: 1.1; font-weight: 700;
  padding: .35em 0; }
.large .under { font-size: clamp(1.3rem, 5vw, 2.6rem); font-weight: 700; line-height: 1.2; }
.large .foot { font-size: .85rem; text-align: left; color: var(--dim); }
.sign { display: flex; gap: 2rem; margin-top: 4.5rem; }
.sign p { flex: 1; border-top: 1px solid var(--ink); padding-top: .25rem; color: var(--dim); }
figure { margin: 0 0 1.2rem; } figcaption { font-size: .85rem; color: var(--dim); }
img { display: block; max-width: 100%; max-height: 40rem; margin-bottom: .25rem; }
.view { display: block; width: 100%; max-width: 36rem; height: auto; margin: .3rem auto; }
.view .edge { fill: var(--page); stroke: var(--ink); stroke-width: .3; }
.view .thin { fill: none; stroke: var(--ink); stroke-width: .14; }
.view .tone { fill: var(--ink); stroke: none; }
.view text { fill: var(--ink); stroke: none; }
.view .dim { fill: var(--dim); }
.signs { grid-template-columns: minmax(1.6rem, max-content) 1fr; } .signs dt { color: var(--ink);
  font-weight: 700; }
@media (max-width: 34rem) {
  .days { display: table; } .strip.columns { display: none; }
  .scroll .strip { min-width: 42rem; }
  .folds, .folds thead, .folds tbody, .folds tr { display: block; }
  .folds thead th:not(:first-child), .folds thead th:empty { display: none; }
  .folds .row { padding: .25rem 0; } .folds .row td { display: inline-block; width: auto;
    text-align: left; padding-right: .7rem; }
  .folds .row td:first-child { display: block; font-weight: 600; }
  .folds td:empty { display: none; } .folds .group th, .folds .note td { display: block; }
  .folds td[data-head]:not(:first-child)::before { content: attr(data-head) " ";
    color: var(--dim); font-size: .85em; }
  body { padding: .9rem .8rem 2rem; }
  .lead { font-size: 1.35rem; } dl { grid-template-columns: minmax(4.5rem, max-content) 1fr; }
  table.pair, .pair tbody, .pair tr, .pair td { display: block; width: auto; }
  .pair .row td:first-child { width: auto; padding-top: .45rem; }
  .many { font-size: .85rem; } col { width: auto !important; }
  .many td, .many th { padding-right: .5rem; }
  .wide { font-size: .72rem; } .wide td, .wide th { padding-right: .35rem; }
  .wide th.right { white-space: normal; }
}
@media (min-width: 42rem) { .across { grid-template-columns: repeat(var(--across), 1fr); } }
@media (min-width: 42rem) { .beside { grid-template-columns: var(--share) 1fr; } }
@page { margin: 10mm 15mm; }
@page card { size: landscape; }
@media print {
  html { font-size: 8.8pt; }
  body { max-width: none; padding: 0; line-height: 1.27; overflow-wrap: anywhere; }
  .across { grid-template-columns: repeat(var(--across), 1fr); }
  .blank { min-height: 1.6rem; }
  .view { max-width: none; max-height: 80mm; } .beside .view { max-height: 64mm; }
  .signs.many { grid-template-columns: repeat(2, 1.6rem 1fr); }
  .turn { break-before: page; } .alert { font-size: 1.05rem; padding: .3rem .7rem; }
  .large { page: card; } .large .over { font-size: 32pt; letter-spacing: -.02em; }
  .large .under { font-size: 40pt; }
  .large .said { font-size: 60pt; }
  .large .line { font-size: 100pt; } .large .line + .line { font-size: 170pt; }
  .beside { grid-template-columns: var(--share) 1fr; } .first, .dates { break-inside: avoid; }
  .first .when { font-size: 34pt; } .dates .when { font-size: 13pt; }
  .first .label, .days .no, .strip { print-color-adjust: exact;
    -webkit-print-color-adjust: exact; }
  h2, .head, .note, .group { break-after: avoid; }
  tr, dt, dd, figure, .view, .alert, .sign { break-inside: avoid; }
  .small, .remark, .foot, .sign p, thead th { font-size: 8pt; } p { margin: .15rem 0; }
  .lead { font-size: 1.5rem; } .leads { margin: .6rem 0 .3rem; } .sign { margin-top: 2rem; }
  .blank { min-height: 1.6rem; } .beside section { margin-top: .6rem; }
  section { margin-top: .7rem; } .alert { font-size: 12pt; margin-bottom: .9rem; }
  img { max-height: 11cm; }
  .scroll { overflow: visible; margin: .2rem 0 .5rem; }
  td, th { padding-top: .08rem; padding-bottom: .08rem; }
  .alert, .view { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
"""
