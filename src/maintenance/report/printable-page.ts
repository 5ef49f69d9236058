import type { Language } from '../catalogue-language.js'
import { html, type Html } from './html.js'
import { reportText } from './report-words.js'

/** Paper and ink; sheets of any size, with margins that A4 and Letter both have. */
const STYLE = html`<style>
@page { margin: 16mm 14mm; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 16px; max-width: 900px; background: #fff; color: #1b2a33; font: 14px/1.45 system-ui, sans-serif; }
h1 { font-size: 24px; font-weight: 500; margin: 0 0 4px; }
h2 { font-size: 19px; font-weight: 600; margin: 22px 0 6px; border-bottom: 1px solid #1b2a33; break-after: avoid; }
h3 { font-size: 15px; margin: 14px 0 4px; break-after: avoid; }
p, ul, ol { margin: 0 0 8px; }
table { width: 100%; border-collapse: collapse; font-size: 13px; font-variant-numeric: tabular-nums; }
th, td { text-align: left; vertical-align: top; padding: 3px 8px 3px 0; border-bottom: 1px solid #d9d4c8; }
td { overflow-wrap: anywhere; }
tr { break-inside: avoid; }
thead { display: table-header-group; }
.soft { color: #5c6b73; }
.act { color: #a63a00; border-left: 6px solid #a63a00; padding: 2px 8px; }
li.act { list-style: none; margin-left: -1em; }
.unseen { border: 2px dotted #5c6b73; padding: 6px 10px; }
.box { border: 1px solid #1b2a33; padding: 6px 12px; break-inside: avoid; }
.sign { display: grid; grid-template-columns: repeat(3, 1fr); gap: 24px; margin-top: 28px; }
.sign span { border-top: 1px solid #1b2a33; padding-top: 4px; color: #5c6b73; font-size: 12px; }
footer { margin-top: 24px; padding-top: 8px; border-top: 1px solid #d9d4c8; color: #5c6b73; font-size: 12px; }
figure { margin: 8px 0; break-inside: avoid; }
figcaption { font-size: 13px; color: #5c6b73; }
svg { width: 100%; height: auto; }
svg text { font: 11px system-ui, sans-serif; fill: #5c6b73; }
.data { fill: none; stroke: #1b2a33; stroke-width: 1; }
circle { fill: #1b2a33; }
.centre { fill: none; stroke: #5c6b73; }
.limit { fill: none; stroke: #5c6b73; stroke-dasharray: 5 4; }
.signal { stroke: #a63a00; stroke-width: 2; }
@media print { body { padding: 0; max-width: none; } }
</style>`

/** A printable page: no script, nothing fetched from elsewhere, everything filled in escaped. */
export function printablePage(title: string, body: Html, language: Language): string {
  return `${html`<!doctype html>
<html lang="${language}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'">
<title>${title}</title>
${STYLE}
</head>
<body>
${body}
<footer>${reportText('advice', language)}</footer>
</body>
</html>`.text}\n`
}
