/* The page's head and its looks: one style sheet for wide and narrow windows and for paper. Colours
 * keep a contrast of 4.5 to 1 with their ground; every verdict has a shape besides its colour. */
#include "report/html.h"

static const char *const style[] = {
    ":root{--ink:#18212c;--mut:#55606d;--rule:#d3d9e0;--wash:#f4f6f8;--ok:#136a3a;--no:#b0201a;"
    "--un:#7d5200;--er:#4a4f9e;--plan:#0b5fa5;color-scheme:light}",
    "*{box-sizing:border-box}",
    "html{-webkit-text-size-adjust:100%;text-size-adjust:100%}",
    "body{margin:0;color:var(--ink);background:#fff;font:1rem/1.5 system-ui,sans-serif;"
    "font-variant-numeric:tabular-nums lining-nums;overflow-wrap:anywhere}",
    "header,main{max-width:74rem;margin:0 auto;padding:0 1.25rem}",
    "header{padding-top:2rem}main{padding-bottom:3rem}",
    ".ok{color:var(--ok)}.no{color:var(--no)}.un{color:var(--un)}.er{color:var(--er)}",
    ".kicker{margin:0;color:var(--mut);font-size:.875rem;letter-spacing:.08em;"
    "text-transform:uppercase}",
    "h1{display:flex;gap:.75rem;align-items:center;margin:.25rem 0 .5rem;font-size:2.25rem;"
    "line-height:1.15;font-weight:650;letter-spacing:-.01em}",
    "h2{display:flex;flex-wrap:wrap;gap:.25rem .6rem;align-items:center;margin:0 0 .25rem;"
    "font-size:1.6rem;line-height:1.2;font-weight:650}",
    "h3{margin:2.5rem 0 .5rem;padding-top:.6rem;border-top:1px solid var(--rule);font-size:1.15rem;"
    "line-height:1.3;font-weight:650}",
    "p{margin:.4rem 0;max-width:46rem}.m,.file{color:var(--mut)}.m{font-size:.9375rem}",
    "a{color:var(--plan)}",
    ".v{width:1.05em;height:1.05em;flex:none;vertical-align:-.17em}",
    ".sheet{margin-top:3.5rem;padding-top:1.5rem;border-top:3px solid var(--ink)}",
    ".over,.guide{margin-top:2rem}.guide{margin-top:3.5rem;padding-top:1.5rem;border-top:3px solid "
    "var(--ink)}.alone{margin-top:0;padding-top:0;border-top:0}.alone>.file{margin-top:0}",
    ".two{display:grid;grid-template-columns:minmax(0,1fr) 17rem;gap:1.5rem "
    "2rem;align-items:start}",
    ".error{padding:.75rem 1rem;border-left:3px solid var(--er);background:var(--wash)}",
    ".why{list-style:none;margin:.5rem 0;padding:0}.why li{display:flex;gap:.5rem;align-items:"
    "baseline;margin:.15rem 0}.why span{color:var(--ink)}.why .v{position:relative;top:.17em}",
    ".notes{margin:.75rem 0;padding:.6rem 1rem .6rem 2rem;background:var(--wash);border-left:3px "
    "solid var(--rule);max-width:46rem}",
    ".tiles{display:grid;grid-template-columns:repeat(auto-fit,minmax(10.5rem,1fr));gap:0;"
    "margin:1.5rem 0;border:solid var(--rule);border-width:1px 0 0 1px}",
    ".tiles div{padding:.6rem .8rem .5rem;border:solid var(--rule);border-width:0 1px 1px 0}",
    ".tiles dt{color:var(--mut);font-size:.9375rem}.tiles dt span{color:var(--ink)}",
    ".tiles dd{margin:0}.tiles dd b{font-size:1.25rem;font-weight:650}.tiles dd span{color:"
    "var(--mut);white-space:nowrap}.tiles .g{display:block;width:100%;max-width:12rem;height:auto;"
    "margin-top:.3rem}",
    ".b{white-space:nowrap;font-weight:600}.b .v{margin-right:.35em}",
    /* gauges and sparks */
    ".g{width:7rem;height:1.25rem;vertical-align:middle;overflow:visible}.g .i{stroke:"
    "currentColor;stroke-width:5;stroke-opacity:.45;fill:none}.g .d{fill:currentColor}",
    ".s{width:7.5rem;height:1.4rem;vertical-align:middle}",
    ".w{display:block;width:2.5rem;height:.25rem;margin:.1rem 0 0 auto}.w path{fill:#e3e7ec}.w "
    "path+path{fill:#4b5866}",
    /* charts */
    ".many{display:grid;grid-template-columns:repeat(auto-fill,minmax(min(20rem,100%),1fr));gap:"
    "1.25rem 2rem;margin:1rem 0}",
    "figure{margin:0;min-width:0;break-inside:avoid}figcaption{font-size:.9375rem;color:var(--mut);"
    "margin-bottom:.25rem}figcaption b{color:var(--ink);font-weight:600}",
    "figcaption .nr{display:inline-block;min-width:1.6em;text-align:"
    "center;border:1px solid var(--mut);border-radius:.8em;color:var(--ink);font-size:.875em;"
    "line-height:1.5}",
    ".c{display:block;width:100%;height:auto;font-size:12px;fill:var(--mut)}.h{max-width:27rem}",
    ".tz{fill:#eaedf1}.tl{stroke:#6b7683;stroke-width:1;stroke-dasharray:4 3;fill:none}",
    ".ax{stroke:#6b7683;stroke-width:1;fill:none}.mn{stroke:currentColor;stroke-width:1.4;fill:"
    "none}",
    ".ub{fill:currentColor;fill-opacity:.22;stroke:none}",
    ".pf{stroke:var(--ink);stroke-width:1.3;fill:none;stroke-linejoin:round;stroke-linecap:round}",
    ".hb{fill:#7d8fa3}.hb.no{fill:var(--no)}.fm{fill:currentColor;fill-opacity:.12;stroke:"
    "currentColor;stroke-width:1.6}",
    /* the picture */
    ".pic{margin:1.5rem 0}.pic .scroll{margin:0}.pic "
    "svg{display:block;width:100%;max-width:56rem;height:auto}",
    ".pic figcaption{margin-top:.5rem;max-width:56rem}",
    ".sw{border:0;margin:0 0 .4rem;padding:0;display:flex;flex-wrap:wrap;gap:.2rem 1.1rem;"
    "font-size:.9375rem}.sw legend{float:left;padding:0;margin-right:1.1rem;color:var(--mut)}",
    ".sw input{accent-color:var(--plan);vertical-align:-.1em}",
    ".px{opacity:.42}.sheet .sheet{fill:none;stroke:#8b95a1;stroke-width:calc(.2*var(--u))}",
    ".lp path{fill:none;stroke:var(--plan);stroke-width:calc(.22*var(--u))}",
    ".cell{fill:none;stroke:#6b7683;stroke-width:calc(.25*var(--u));stroke-dasharray:calc(3*var(--"
    "u)"
    ") calc(1*var(--u)) calc(.6*var(--u)) calc(1*var(--u))}",
    ".ld path,.ls path{fill:none;stroke:currentColor}",
    ".ld .wh{stroke-width:calc(.16*var(--u));stroke-opacity:.75}",
    ".ld .ce{stroke-width:calc(.3*var(--u));stroke:#fff;stroke-dasharray:calc(1.2*var(--u)) "
    "calc(.7*var(--u))}",
    ".ld .ed{stroke-width:calc(.34*var(--u))}",
    ".ld .no .ed{stroke-width:calc(.8*var(--u))}",
    ".ld .un .ed{stroke-width:calc(.5*var(--u));stroke-dasharray:calc(1.6*var(--u)) "
    "calc(.9*var(--u))}",
    ".ls .sp{stroke-width:calc(.22*var(--u))}.ls .so{stroke-width:calc(1.1*var(--u))}",
    ".ls .un .sp{stroke-dasharray:calc(1.6*var(--u)) calc(.9*var(--u))}.ls .no .sp{stroke-width:"
    "calc(.6*var(--u))}",
    ".pic text{font-size:calc(3.7*var(--u));font-weight:600;fill:currentColor}",
    ".ln .tag{fill:#fff;fill-opacity:.88;stroke:#6b7683;stroke-width:calc(.12*var(--u))}",
    ".ls .tag{fill:#fff;fill-opacity:.88}",
    ".lr path{fill:none;stroke:#6a1b9a;stroke-width:calc(.45*var(--u));stroke-dasharray:"
    "calc(2.4*var(--u)) calc(1.2*var(--u))}.lr text{fill:#6a1b9a}",
    ".lw circle{fill:none;stroke:#6a1b9a;stroke-width:calc(.5*var(--u))}",
    ".key{stroke:var(--ink);stroke-width:calc(.4*var(--u));fill:none}.lk text{font-weight:400}",
    ".pic:has(.xp:not(:checked)) .lp,.pic:has(.xd:not(:checked)) .ld,.pic:has(.xd:not(:checked)) "
    ".ln,.pic:has(.xs:not(:checked)) .ls{display:none}",
    ".pic:has(.xf:not(:checked)) .px{opacity:1}",
    "@supports not selector(:has(*)){.sw{display:none}}",
    ".lg{list-style:none;display:flex;flex-wrap:wrap;gap:.15rem 1.4rem;margin:.6rem 0 0;padding:0;"
    "font-size:.9375rem}.lg li{display:flex;align-items:center;gap:.5rem}.pic .lg svg{width:2rem;"
    "min-width:0;height:.75rem;fill:none;stroke:currentColor}.lg .lp{color:var(--plan)}.lg .vi{"
    "color:#6a1b9a}",
    /* the map */
    ".map{display:block;width:100%;height:auto}.mapfig{max-width:26rem}.two "
    ".mapfig{max-width:none}",
    ".map .ground rect{fill:#fbfbfa;stroke:#6b7683;vector-effect:non-scaling-stroke}",
    ".map #art path{fill:#c3cbd4;stroke:none}",
    ".map rect{fill:none;stroke:#6b7683;stroke-width:1;vector-effect:non-scaling-stroke}",
    ".map .ok rect,.map .no rect,.map .un rect{fill:currentColor;fill-opacity:.13}",
    ".map .here rect{stroke:var(--ink);stroke-width:3;fill:var(--plan);fill-opacity:.2}",
    ".map text{fill:var(--ink);font-weight:600;paint-order:stroke;stroke:#fff;stroke-width:.18em;"
    "stroke-opacity:.85;stroke-linejoin:round}.map .un0 text{fill:#6b7683;font-weight:400}",
    /* tables */
    /* What scrolls shows a shadow where more of it lies. */
    ".scroll{overflow-x:auto;margin:1.25rem 0;background:linear-gradient(to right,#fff 1rem,#fff0) "
    "0 0/3rem 100% no-repeat local,linear-gradient(to left,#fff 1rem,#fff0) 100% 0/3rem 100% "
    "no-repeat local,linear-gradient(to right,#18212c2e,#18212c00) 0 0/.8rem 100% no-repeat scroll,"
    "linear-gradient(to left,#18212c2e,#18212c00) 100% 0/.8rem 100% no-repeat scroll}",
    "table{border-collapse:collapse;width:100%;font-size:.9375rem;line-height:1.35;"
    "overflow-wrap:normal}",
    "caption{text-align:left;font-weight:600;padding-bottom:.4rem}caption span{display:block;"
    "position:sticky;left:0;width:max-content;max-width:min(100%,calc(100vw - 2rem))}",
    ".narrow{max-width:40rem}",
    "th,td{padding:.28rem .6rem;text-align:right;border-bottom:1px solid var(--rule);"
    "vertical-align:baseline;white-space:nowrap}",
    "th:first-child,td:first-child{padding-left:0}",
    "thead th{color:var(--mut);font-weight:500;border-bottom:1px solid var(--ink);vertical-align:"
    "bottom;white-space:normal}",
    "tbody "
    "th{font-weight:500;text-align:left;min-width:6rem;white-space:normal}td.t,th.t{text-align:"
    "left}td.t{"
    "white-space:normal}",
    ".over .two{display:block}.over .mapfig{max-width:24rem}.over td "
    ".g{display:block;width:6rem;height:.86rem;margin-left:auto}.over "
    "td{min-width:6.5rem}",
    "details{margin:1.5rem 0}summary{cursor:pointer;font-weight:600;color:var(--plan)}",
    ".up{margin-top:1.5rem}",
    /* The widest table fits a window of 1100 px. */
    "@media screen and (max-width:76rem){table{font-size:.8125rem}th,td{padding:.28rem .38rem}td "
    ".g,td "
    ".s{width:5rem}}",
    "@media(max-width:46rem){header,main{padding-left:1rem;padding-right:1rem}h1{font-size:1.75rem}"
    ".two{grid-template-columns:minmax(0,1fr)}.pic svg{min-width:40rem}.two "
    ".mapfig{max-width:20rem}"
    ".sheet{margin-top:2.5rem}.alone{margin-top:0}}",
    "@page{margin:13mm 12mm}",
    "@media print{html{font-size:9.5pt}body{line-height:1.35}header,main{max-width:none;padding:0}"
    ".sheet{break-before:page;margin-top:0;padding-top:0;border-top:0}header+main>.sheet:first-of-"
    "type{break-before:auto}h2,h3,caption,summary,legend{break-after:avoid}h1{font-size:20pt}h2{"
    "font-size:15pt}h3{font-size:11.5pt;margin-top:6mm}.scroll{overflow:visible;margin:3mm "
    "0;background:none}tbody tr:first-child{break-before:"
    "avoid}.lg{break-before:avoid}.pic .lg svg{width:8mm}.narrow{max-width:120mm}"
    "table{font-size:8pt}th,td{padding:.5mm 1.2mm}thead{display:table-header-group}tr,.tiles div,"
    ".why li,.notes li{break-inside:avoid}.sw,.up{display:none}.pic svg{width:auto;max-width:100%;"
    "max-height:215mm;min-width:0;margin:0 auto}.pic .lp,.pic .ld,.pic .ln,.pic .ls{display:inline!"
    "important}.many{grid-template-columns:repeat(2,1fr);gap:4mm 8mm}.g{width:22mm;height:3.2mm}"
    ".s{width:22mm;height:4mm}.tiles{grid-template-columns:repeat(3,1fr)}.two{grid-template-"
    "columns:"
    "minmax(0,1fr) 55mm}.over .two{display:block}tbody th{min-width:0}summary{color:var(--ink);"
    "list-style:none}summary::-webkit-details-marker{display:none}a{color:inherit;text-decoration:"
    "none}*{-webkit-print-color-adjust:exact;print-color-adjust:exact}}",
};

/* The signs of the verdicts, and what every gauge shows. */
static const char signs[] =
    "<svg width=\"0\" height=\"0\" style=\"position:absolute\" aria-hidden=\"true\"><defs>\n"
    "<symbol id=\"ok\" viewBox=\"0 0 20 20\"><circle cx=\"10\" cy=\"10\" r=\"9\" "
    "fill=\"currentColor"
    "\"/><path d=\"M5.5 10.5l3 3 6-7\" fill=\"none\" stroke=\"#fff\" "
    "stroke-width=\"2.4\"/></symbol>\n"
    "<symbol id=\"no\" viewBox=\"0 0 20 20\"><path d=\"M1 1h18v18H1Z\" "
    "fill=\"currentColor\"/><path "
    "d=\"M5.5 5.5l9 9m0-9l-9 9\" fill=\"none\" stroke=\"#fff\" stroke-width=\"2.6\"/></symbol>\n"
    "<symbol id=\"un\" viewBox=\"0 0 20 20\"><path d=\"M10 .3L19.7 10 10 19.7.3 10Z\" fill=\""
    "currentColor\"/><path d=\"M5.5 10h9\" fill=\"none\" stroke=\"#fff\" stroke-width=\"2.6\"/>"
    "</symbol>\n"
    "<symbol id=\"er\" viewBox=\"0 0 20 20\"><path d=\"M10 1l9.6 17.5H.4Z\" fill=\"currentColor\"/>"
    "<path d=\"M10 7v6m0 1.6v2\" fill=\"none\" stroke=\"#fff\" stroke-width=\"2.2\"/></symbol>\n"
    "<symbol id=\"zone\" viewBox=\"0 0 140 20\"><path d=\"M0 10H140\" stroke=\"#aab3bd\"/><path "
    "d=\"M38 2h64v16H38Z\" fill=\"#e6eaef\"/><path d=\"M38 1v18M102 1v18\" "
    "stroke=\"#6b7683\"/><path "
    "d=\"M70 4v12\" stroke=\"#8b95a1\"/></symbol>\n"
    "</defs></svg>\n";

void pv_html_head(pv_html *page)
{
    pv_text *to = &page->out;
    pv_text_add(to, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                    "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                    "<title>Inspection report: ");
    pv_html_text(to, page->plan->art.name);
    pv_text_add(to, "</title>\n<style>\n");
    for (size_t i = 0; i < sizeof style / sizeof *style; i++)
        pv_text_add(to, "%s\n", style[i]);
    pv_text_add(to, "</style>\n</head>\n<body>\n%s", signs);
}
