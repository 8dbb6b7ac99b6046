//! How the page looks, on screen and on paper.

use super::Colors;

/// The style sheet. It holds none of the characters that XML would want escaped.
pub(super) fn sheet(colors: &Colors, printed: &Colors) -> String {
    // The margins of a sheet of paper stay white, whatever the page is filled with: it is printed dark on light, on the paper
    // as it is.
    let printed = Colors { paper: "#fff".to_owned(), ..printed.clone() };
    format!("{}\n{RULES}@media print{{{}}}\n", root(colors), root(&printed))
}

fn root(colors: &Colors) -> String {
    let Colors { dark, paper, sheet, ink, soft, rule, good, doubt, bad, candidate } = colors;
    let scheme = if *dark { "dark" } else { "light" };
    format!(
        ":root{{color-scheme:{scheme};--paper:{paper};--sheet:{sheet};--ink:{ink};--soft:{soft};--rule:{rule};\
         --good:{good};--doubt:{doubt};--bad:{bad};--candidate:{candidate}}}"
    )
}

const RULES: &str = "\
*{box-sizing:border-box}
html{background:var(--paper);-webkit-text-size-adjust:100%}
body{margin:0 auto;max-width:58rem;padding:1.5rem 1.25rem 3rem;background:var(--paper);color:var(--ink);\
font:1rem/1.5 system-ui,'Segoe UI','Helvetica Neue',Arial,'Liberation Sans',sans-serif}
h1{font-size:1.75rem;line-height:1.25;margin:0 0 .25rem;font-weight:600;overflow-wrap:anywhere}
h2{font-size:1.3rem;margin:2.2rem 0 .6rem;font-weight:600;border-bottom:1px solid var(--rule)}
h3{font-size:1.05rem;margin:1.2rem 0 .4rem;font-weight:600;overflow-wrap:anywhere}
p,ul,ol,dl{margin:.4rem 0 .8rem}
.soft,caption,h1 .soft{color:var(--soft);font-weight:400}
.side.candidate{color:var(--candidate)}
.headline{font-size:2rem;line-height:1.2;font-weight:600;margin:.6rem 0;padding:.5rem .8rem;border-left:.4rem solid;\
background:var(--sheet)}
.headline small{font-size:1rem;font-weight:400;color:var(--soft)}
.good{border-color:var(--good)}.doubt{border-color:var(--doubt)}.bad{border-color:var(--bad)}
.mark{font-weight:700}.mark.good{color:var(--good)}.mark.doubt{color:var(--doubt)}.mark.bad{color:var(--bad)}
.warning{border-left:.25rem solid var(--doubt);padding-left:.7rem;margin:.5rem 0}
.scroll{overflow-x:auto;max-width:100%}
table{border-collapse:collapse;width:100%;font-size:.9rem;line-height:1.35;background:var(--sheet);margin:.4rem 0 1rem}
caption{text-align:left;padding:.2rem 0;background:var(--paper)}
th,td{padding:.28rem .55rem;border-bottom:1px solid var(--rule);text-align:left;vertical-align:top}
thead th.n{white-space:normal}
thead th{border-bottom:2px solid var(--soft);font-weight:600}
tbody th{font-weight:400}
th.n,td.n{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}
td.text{overflow-wrap:anywhere;min-width:8rem}
tr.sum th,tr.sum td{border-top:2px solid var(--ink);font-weight:600}
tr.part th{padding-left:1.6rem}
.small{font-size:.85rem}
figure{margin:1.2rem 0 1.6rem}
figcaption{margin-bottom:.4rem}
.scroll table{min-width:34rem}
#all-measures table,#all-parameters table{font-size:.78rem}
#all-measures td,#all-measures th,#all-parameters td,#all-parameters th{padding:.18rem .45rem}
svg{display:block;width:100%;min-width:38rem;height:auto;border:1px solid var(--rule)}
pre,code{font-family:'DejaVu Sans Mono',Menlo,Consolas,monospace;font-size:.82rem}
pre{white-space:pre-wrap;overflow-wrap:anywhere;background:var(--sheet);border:1px solid var(--rule);padding:.6rem .8rem;\
margin:.4rem 0 1rem;line-height:1.4}
td code{overflow-wrap:anywhere}
summary{font-weight:600;cursor:pointer;margin:.8rem 0 .4rem;overflow-wrap:anywhere}
.printed{display:none}
@page{size:A4;margin:16mm 14mm}
@media print{
html,body{background:var(--paper)}
*{-webkit-print-color-adjust:exact;print-color-adjust:exact}
body{max-width:none;padding:0;font-size:10.5pt}
h2,h3,figcaption,caption,summary{break-after:avoid}
figure,.headline,.warning,tr{break-inside:avoid}
thead{display:table-header-group}
.scroll{overflow:visible}
.shown{display:none}.printed{display:block}
svg,.scroll table{min-width:0}
table{font-size:8.5pt}
#all-measures table,#all-parameters table{font-size:7.5pt}
p,li{orphans:3;widows:3}
}
";
