"""The style sheet of the page: readable on a telephone, on a wide screen, in the dark, and on A4 and Letter.

Colours are our own; text stands out from its ground by 4.5 to 1 at least (WCAG 2.2, 1.4.3), which a test
works out from the figures here. Marks have words and outlines besides their colours.
"""

from __future__ import annotations

__all__ = ["DARK", "LIGHT", "STYLE"]

#: Colours by what they are for, on light ground and on dark.
LIGHT = {
    "ground": "#ffffff",
    "panel": "#f2f4f1",
    "ink": "#1d2420",
    "dim": "#515c55",
    "rule": "#c3cbc5",
    "accent": "#17594a",
    "bad": "#9d1c1c",
    "near": "#7a5200",
    "good": "#1f6331",
    "danger-ground": "#fdeeec",
    "caution-ground": "#fdf5e1",
    "line-0": "#17594a",
    "line-1": "#a3400c",
    "line-2": "#2f4fa3",
    "line-3": "#7b2d7d",
    "line-4": "#5d6400",
    "line-5": "#5a5f66",
}
DARK = {
    "ground": "#151a18",
    "panel": "#1f2623",
    "ink": "#e8ece8",
    "dim": "#a9b5ad",
    "rule": "#3d4843",
    "accent": "#7fd1bb",
    "bad": "#ff9d94",
    "near": "#f0c56b",
    "good": "#8fd6a0",
    "danger-ground": "#3a1d1b",
    "caution-ground": "#352b14",
    "line-0": "#7fd1bb",
    "line-1": "#ffad7a",
    "line-2": "#a9c0ff",
    "line-3": "#e6a6e8",
    "line-4": "#d0d870",
    "line-5": "#b9c0c8",
}


def _variables(colours: dict[str, str]) -> str:
    return " ".join(f"--{name}: {value};" for name, value in colours.items())


_LINES = "\n".join(
    f".curve.line-{n} {{ stroke: var(--line-{n}); }} "
    f"circle.line-{n}, polygon.line-{n} {{ fill: var(--line-{n}); stroke: var(--ground); }} "
    f"circle.ring.line-{n} {{ fill: var(--ground); stroke: var(--line-{n}); }} "
    f"path.cross.line-{n} {{ stroke: var(--line-{n}); stroke-width: 2; }}"
    for n in range(6)
)

STYLE = f"""
:root {{ color-scheme: light dark; {_variables(LIGHT)} }}
@media (prefers-color-scheme: dark) {{ :root {{ {_variables(DARK)} }} }}
@media print {{ :root {{ color-scheme: light; {_variables(LIGHT)} }} }}
* {{ box-sizing: border-box; }}
html {{ -webkit-text-size-adjust: 100%; }}
body {{ margin: 0 auto; padding: 1.25rem; max-width: 50rem; background: var(--ground); color: var(--ink);
  font: 1rem/1.5 system-ui, "Liberation Sans", "DejaVu Sans", sans-serif; overflow-wrap: break-word; }}
header {{ border-bottom: 3px solid var(--accent); padding-bottom: .75rem; margin-bottom: 1.25rem; }}
h1 {{ font-size: 1.75rem; line-height: 1.2; margin: .1rem 0 .35rem; }}
h2 {{ font-size: 1.25rem; line-height: 1.25; margin: 2rem 0 .6rem; padding-top: .6rem;
  border-top: 1px solid var(--rule); }}
h3 {{ font-size: 1.05rem; line-height: 1.3; margin: 1.4rem 0 .4rem; }}
p {{ margin: .5rem 0; }}
.kicker {{ margin: 0; color: var(--accent); font-weight: 600; }}
.about, .small, figcaption, .by {{ color: var(--dim); font-size: .9rem; }}
.about {{ margin: 0; }}
.lead {{ font-size: 1.1rem; }}
blockquote {{ margin: .75rem 0; padding: .1rem 0 .1rem 1rem; border-left: 4px solid var(--accent); }}
blockquote p {{ margin: .25rem 0; font-size: 1.1rem; }}
blockquote .by {{ font-size: .9rem; }}
ul, ol {{ margin: .5rem 0; padding-left: 1.4rem; }}
li {{ margin: .2rem 0; }}
dl {{ margin: .6rem 0; display: grid; grid-template-columns: repeat(auto-fill, minmax(15rem, 1fr));
  gap: .15rem 1.5rem; }}
dl div {{ border-bottom: 1px solid var(--rule); padding: .25rem 0; }}
dt {{ color: var(--dim); font-size: .9rem; }}
dd {{ margin: 0; font-weight: 600; }}
table {{ width: 100%; border-collapse: collapse; margin: .8rem 0; font-size: .94rem; }}
caption {{ text-align: left; color: var(--dim); font-size: .9rem; padding-bottom: .3rem; }}
th, td {{ text-align: left; vertical-align: top; padding: .35rem .6rem .35rem 0;
  border-bottom: 1px solid var(--rule); }}
thead th {{ color: var(--dim); font-weight: 600; font-size: .86rem;
  border-bottom: 2px solid var(--rule); vertical-align: bottom; }}
tbody th {{ font-weight: 500; }}
.number {{ text-align: right; font-variant-numeric: tabular-nums; }}
td.number {{ white-space: nowrap; }}
.total th, .total td {{ font-weight: 700; border-bottom: 0; border-top: 2px solid var(--rule); }}
.bar {{ display: block; height: .55rem; margin-top: .15rem; border: 1px solid var(--rule);
  border-radius: 2px; overflow: hidden; min-width: 5rem; }}
.bar span {{ display: block; border-bottom: .55rem solid var(--accent); }}
.bad {{ color: var(--bad); font-weight: 650; }}
.near {{ color: var(--near); font-weight: 600; }}
.good {{ color: var(--good); }}
.quiet {{ color: var(--dim); font-weight: 400; }}
.tree, .tree ul {{ list-style: none; padding-left: 0; }}
.tree ul {{ margin-left: .45rem; padding-left: 1rem; border-left: 2px solid var(--rule); }}
.tree li {{ color: var(--ink); font-weight: 400; }}
.tree .figure {{ color: var(--dim); font-size: .9rem; }}
.tree li.bad > .name {{ font-weight: 700; }}
.tree li.bad > .figure {{ color: var(--bad); font-weight: 600; }}
.tree li.quiet > .name {{ color: var(--dim); text-decoration: line-through; }}
.notice {{ border: 2px solid var(--rule); border-left-width: 8px; padding: .5rem .9rem;
  margin: .9rem 0; background: var(--panel); }}
.notice p {{ margin: .25rem 0; }}
.notice.danger {{ border-color: var(--bad); background: var(--danger-ground); }}
.notice.danger strong {{ font-size: 1.15rem; color: var(--bad); }}
.notice.caution {{ border-color: var(--near); background: var(--caution-ground); }}
figure {{ margin: 1rem 0; }}
figure svg {{ display: block; width: 100%; max-width: 36rem; height: auto; }}
figure.ways svg {{ max-width: 30rem; }}
.figures {{ display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 20rem), 1fr));
  gap: 0 1.5rem; }}
figcaption {{ margin-top: .3rem; max-width: 36rem; }}
svg text {{ font: 12px system-ui, "Liberation Sans", "DejaVu Sans", sans-serif; fill: var(--ink); }}
svg .dim {{ fill: var(--dim); }}
svg .strong, svg .sign {{ font-weight: 700; }}
svg text.out {{ fill: var(--bad); font-weight: 700; }}
svg text.near {{ fill: var(--near); font-weight: 600; }}
.grid {{ stroke: var(--rule); stroke-width: 1; }}
.curve {{ fill: none; stroke-width: 2.2; stroke-linejoin: round; }}
.leader {{ fill: none; stroke: var(--dim); stroke-width: .8; }}
.body {{ fill: var(--panel); stroke: var(--rule); stroke-width: 1.5; }}
.axle, .centre {{ stroke: var(--dim); stroke-width: 1; }}
.wheel {{ fill: var(--dim); stroke: var(--ink); stroke-width: 1; }}
.wheel.near {{ fill: var(--near); stroke-width: 2; }}
.wheel.out {{ fill: var(--bad); stroke-width: 3; }}
.thrust, .lean {{ stroke: var(--accent); stroke-width: 2.4; fill: none; stroke-linecap: round; }}
.way {{ fill: none; stroke: var(--dim); stroke-width: 1.2; }}
.way.leads {{ stroke: var(--bad); }}
.state {{ fill: var(--ink); stroke: var(--ground); }}
.state.leads {{ fill: var(--bad); }}
.state.open {{ fill: var(--ground); stroke: var(--ink); stroke-width: 1.6; }}
.state.out {{ stroke: var(--dim); stroke-width: 2.2; }}
.state.done {{ fill: var(--good); }}
svg text.name.out {{ fill: var(--dim); font-weight: 400;
  text-decoration: line-through; text-decoration-thickness: .6px; }}
.scale {{ fill: var(--ground); stroke: var(--rule); stroke-width: 1; }}
.amount {{ fill: var(--dim); }}
.amount.leads {{ fill: var(--bad); }}
.first {{ stroke: var(--ink); stroke-width: 1.4; }}
details {{ margin: .6rem 0; }}
summary {{ color: var(--accent); font-weight: 600; cursor: pointer; padding: .3rem 0; }}
{_LINES}
footer {{ margin-top: 2rem; padding-top: .7rem; border-top: 3px solid var(--accent); font-size: .9rem;
  color: var(--dim); }}
@media screen and (max-width: 36rem) {{
  body {{ padding: .9rem; }}
  h1 {{ font-size: 1.45rem; }}
  dl {{ grid-template-columns: 1fr; }}
  table, tbody, tr, th, td, caption {{ display: block; width: 100%; }}
  thead {{ position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }}
  tr {{ border-bottom: 1px solid var(--rule); padding: .4rem 0; }}
  th, td, td.number {{ border: 0; padding: .1rem 0; text-align: left; white-space: normal; }}
  tbody th {{ font-weight: 650; }}
  td.empty, th.empty {{ display: none; }}
  td[data-label]::before {{ content: attr(data-label) ": "; color: var(--dim); font-weight: 400; }}
  .total th, .total td {{ border-top: 0; }}
}}
@page {{ margin: 15mm 15mm 17mm; @bottom-right {{ content: counter(page) " / " counter(pages);
  font-size: 9pt; }} }}
@media print {{
  body {{ max-width: none; padding: 0; font-size: 10.5pt; line-height: 1.4; }}
  h1 {{ font-size: 18pt; }}
  h2 {{ font-size: 13pt; margin-top: 14pt; }}
  h1, h2, h3, caption, thead {{ break-after: avoid; }}
  h2 + *, h3 + * {{ break-before: avoid; }}
  tr, figure, .figures, footer, blockquote, .notice, li:not(:has(li)), dl div {{ break-inside: avoid; }}
  p:has(+ ul), p:has(+ table), p:has(+ figure), p:has(+ .figures) {{ break-after: avoid; }}
  p:has(+ figure), p:has(+ .figures) {{ break-inside: avoid; }}
  .figures {{ grid-template-columns: 1fr 1fr; }}
  thead {{ display: table-header-group; }}
  p {{ orphans: 3; widows: 3; }}
  figure svg {{ max-width: 125mm; }}
  figure.wheels svg {{ max-width: 95mm; }}
  figure.ways svg {{ max-width: 112mm; }}
  .figures:has(.ways) {{ break-inside: auto; }}
  details:not([open]) {{ display: none; }}
  .wheel, .body, .bar span {{ print-color-adjust: exact; -webkit-print-color-adjust: exact; }}
  a {{ color: inherit; }}
}}
"""
