import { ink } from './figure.ts';

/**
 * On paper, words at the head of every page, for browsers that set page margins.
 * @param text of our own: it is written into the style as it is
 */
export function everyPage(text: string): string {
  return `@media print{@page{@top-center{content:"${text}";font:700 9pt "Report",system-ui,sans-serif;color:${
    ink.ink
  }}}}\n`;
}

/** How a report looks in a window and on paper. */
export const htmlStyle = `
*{box-sizing:border-box}
html{color-scheme:light;background:#e6ebe9}
body{margin:0;color:${ink.ink};font:400 15px/1.45 "Report",system-ui,sans-serif;font-variant-numeric:tabular-nums;
overflow-wrap:anywhere}
.sheet{max-width:794px;margin:0 auto;background:${ink.page};padding:46px 64px 40px}
h1{font-size:33px;line-height:1.12;letter-spacing:-.015em;margin:18px 0 6px;font-weight:750;text-wrap:balance}
h2{font-size:24px;line-height:1.15;margin:0 0 12px;font-weight:700;letter-spacing:-.01em}
.minor{font-size:17px;line-height:1.2;margin:24px 0 8px;font-weight:700;letter-spacing:0}
p{margin:0 0 12px}
.below{font-size:16px;color:${ink.ink2}}
.below b{color:${ink.ink}}
.quiet,.caption,.notes{color:${ink.ink2};font-size:13px}
.answer{background:${ink.ink};color:#fff;padding:18px 22px;margin:18px 0 14px;font-size:20px;line-height:1.36;
font-weight:450;border-radius:2px}
.answer b{font-weight:750}
.verdicts{display:grid;grid-template-columns:1fr 1fr;gap:12px;margin:0 0 8px;padding:0;list-style:none}
.verdicts li{border:1.5px solid ${ink.ink};border-radius:2px;padding:12px 14px;display:flex;gap:12px;align-items:center}
.verdicts svg{flex:none}
.verdicts b{display:block;font-size:16px;line-height:1.25;margin-bottom:2px}
.verdicts span span{font-size:13.5px;color:${ink.ink2}}
.pair{display:grid;grid-template-columns:minmax(0,1.1fr) minmax(0,1fr);gap:28px}
figure{margin:0 0 14px}
figure svg{display:block;width:100%;height:auto}
figcaption{color:${ink.ink2};font-size:13px;margin-top:6px}
ul{margin:0 0 12px;padding-left:20px}
li{margin-bottom:5px}
.care{background:${ink.sunk};border-left:5px solid ${ink.ink};padding:12px 16px 8px 34px;margin:0 0 12px}
.scroll{overflow-x:auto;position:relative}
table{border-collapse:collapse;width:100%;margin:0 0 6px;table-layout:fixed}
caption{text-align:left;font-weight:700;font-size:17px;line-height:1.2;padding:14px 0 8px}
.pair caption{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);padding:0}
th,td{padding:6px 8px 6px 0;border-bottom:1px solid ${ink.line};vertical-align:top;text-align:left;font-size:13.5px;
line-height:1.3}
.dense th,.dense td{font-size:12.5px}
thead th{font-weight:500;color:${ink.ink2};vertical-align:bottom;border-bottom:1.5px solid ${ink.ink}}
tbody th{font-weight:500}
tbody th[scope=rowgroup]{font-weight:700;padding-top:12px;border-bottom:0}
tfoot th,tfoot td{font-weight:700;border-bottom:0}
tfoot tr:first-child>*{border-top:1.5px solid ${ink.ink}}
.n{text-align:right}
.n+:not(.n){padding-left:14px}
.mark{display:inline-block;vertical-align:-2px;margin-right:6px}
.hidden{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap}
dl{display:grid;grid-template-columns:minmax(130px,200px) minmax(0,1fr);margin:0 0 14px}
dt,dd{margin:0;padding:6px 12px 6px 0;border-bottom:1px solid ${ink.line}}
dt{color:${ink.ink2};font-size:13.5px}
.wire{font-family:"Report Mono",ui-monospace,monospace;font-size:.92em}
dd .wire{font-size:11px}
.digest{display:inline-block}
section{padding-top:30px;margin-top:34px;border-top:1px solid ${ink.line}}
section:first-of-type{padding-top:0;margin-top:0;border-top:0}
nav{margin-top:26px;font-size:13.5px}
nav ol{margin:0;padding:0;list-style:none;display:flex;flex-wrap:wrap;gap:4px 18px}
nav h2{font-size:17px;margin-bottom:8px}
a{color:inherit;text-underline-offset:3px}
a:focus-visible,.scroll:focus-visible{outline:3px solid ${ink.ink};outline-offset:2px}
header{position:sticky;top:0;z-index:1}
.virtual{background:${ink.page};border:1.5px dashed ${ink.ink};padding:6px 12px;font-weight:700;font-size:13.5px;
text-align:center;margin:0 0 12px}
footer{margin-top:34px;border-top:1px solid ${ink.line};padding-top:10px;font-size:12px;color:${ink.ink2}}
footer p{margin:0 0 3px}
@media (max-width:700px){.sheet{padding:20px}.pair,.verdicts{grid-template-columns:1fr}
.scroll table,figure svg{min-width:640px}
.pair .scroll table{min-width:0}dl{grid-template-columns:1fr}dt{border-bottom:0;padding-bottom:0}}
@media screen and (max-width:800px){.digest{max-width:32.1ch}}
@media print{
@page{size:A4;margin:16mm 17mm 20mm}
html{background:none}
body{font-size:10.5pt}
*{-webkit-print-color-adjust:exact;print-color-adjust:exact}
.sheet{max-width:none;padding:0}
h1{font-size:29px;margin-top:8px}
.below{font-size:14px}
.answer{font-size:17px;padding:14px 18px;margin:12px 0 10px}
.verdicts li{padding:9px 12px}
.minor{margin:16px 0 6px}
.pair td,.pair th{padding-top:4px;padding-bottom:4px}
.pair .care{font-size:12.3px;line-height:1.38;padding:8px 12px 4px 28px}
.scroll{overflow:visible}
nav{display:none}
section{break-before:page;border-top:0;padding-top:0;margin-top:0}
section:first-of-type,.joined{break-before:auto}
.joined{margin-top:24px}
h2,.minor,caption{break-after:avoid}
tr[data-group]{break-after:avoid}
tr,figure,.care li,.verdicts li,.answer{break-inside:avoid}
thead{display:table-header-group}
tfoot{display:table-row-group}
header{position:static}
.virtual{padding:3px 10px;font-size:9pt;margin-bottom:8px}
}
`;
