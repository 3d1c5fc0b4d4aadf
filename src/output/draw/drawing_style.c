/* SPDX-License-Identifier: GPL-3.0-or-later
 * The classes of all drawings and their colours: the palette of Okabe & Ito, "Color
 * Universal Design", 2008 (from memory), made for every kind of colour vision, darkened
 * where it carries text. */
#include "drawing_svg.h"

#define INK "#14202b"
#define GRID "#cdd4da"
#define SKY "#56b4e9"
#define BLUE "#00507d"
#define GREEN "#00573f"
#define PURPLE "#8a3f6c"
#define DANGER "#a33f00"
#define RED "#8f2a00"

const char drawing_map_style[] =
    "text{font-family:'DejaVu Sans',Verdana,Arial,sans-serif;fill:" INK "}"
    ".m-page{fill:#fff}.m-outside{fill:#dcd9d2}.m-field{fill:#fbfaf5}"
    ".m-frame{fill:none;stroke:" INK ";stroke-width:1.5}"
    ".m-plate{fill:#fff;fill-opacity:.86}"
    ".m-stamp{font-size:12px}.m-text{font-size:14px}.m-small,.m-note{font-size:13.6px}.m-strong{"
    "font-weight:bold}"
    ".m-center{text-anchor:middle}.m-decision{font-size:27px;font-weight:bold}"
    ".m-label{font-size:14px;stroke:#fff;stroke-width:3.5px;stroke-linejoin:"
    "round;paint-order:stroke}"
    ".m-mid{text-anchor:middle}.m-start{text-anchor:start}.m-end{text-anchor:end}"
    ".m-quiet{fill:#4a4a4a}.m-blue{fill:" BLUE "}.m-level{font-weight:bold}"
    ".m-danger{fill:#7a2e00;font-weight:bold}.m-green{fill:" GREEN ";font-weight:bold}"
    ".m-road-edge{fill:none;stroke:#6d6d6d;stroke-width:4.6}"
    ".m-road{fill:none;stroke:#fff;stroke-width:2.4}"
    ".m-keep{fill:url(#zone-hatch);stroke:" DANGER ";stroke-width:1.8}"
    ".m-keep-o{fill:url(#outcomes-hatch)}.m-keep-n{fill:url(#near-hatch)}"
    ".m-keep-h{fill:url(#hazard-hatch)}.m-h0,.m-h1,.m-h2,.m-h3{fill:" DANGER ";stroke:" DANGER "}"
    ".m-h0{fill-opacity:.6;stroke-width:3}.m-h1{fill-opacity:.4;stroke-width:2.4}"
    ".m-h2{fill-opacity:.25;stroke-width:1.8}"
    ".m-h3{fill-opacity:.12;stroke-width:1.4;stroke-dasharray:6 3}"
    ".m-inset{fill:none;stroke:" INK ";stroke-width:1.6;stroke-dasharray:2 2}"
    ".m-hatch-paper{fill:#fff;fill-opacity:.6}"
    ".m-hatch{stroke:" DANGER ";stroke-width:1.7}"
    ".m-bound-halo{fill:none;stroke:#fff;stroke-width:5;stroke-opacity:.7}"
    ".m-bound{fill:none;stroke:" GREEN ";stroke-width:2.6;stroke-dasharray:14 4 3 4}"
    ".m-in95{fill:" SKY ";fill-opacity:.20}.m-in90{fill:" SKY ";fill-opacity:.22}"
    ".m-in50{fill:#0072b2;fill-opacity:.26}"
    ".m-c50,.m-c90,.m-c95{fill:none;stroke:" BLUE "}.m-c50{stroke-width:2.8}"
    ".m-c90{stroke-width:2}.m-c95{stroke-width:1.4;stroke-dasharray:6 3}"
    ".m-ellipse{fill:none;stroke:" PURPLE ";stroke-width:1.4;stroke-dasharray:2 3}"
    ".m-dots{fill:none;stroke:#10222f;stroke-opacity:.62;stroke-width:2;stroke-linecap:round}"
    ".m-middle{fill:none;stroke:" INK ";stroke-width:2.4}"
    ".m-middle-halo{fill:none;stroke:#fff;stroke-width:5.5}"
    ".m-track{fill:none;stroke:" INK ";stroke-width:1.8;stroke-dasharray:7 2}"
    ".m-track-halo{fill:none;stroke:#fff;stroke-width:4.5;stroke-opacity:.8}"
    ".m-event{fill:#fff;stroke:" INK ";stroke-width:2}"
    ".m-pad{fill:" INK ";stroke:#fff;stroke-width:1.5}"
    ".m-post{fill:" INK ";stroke:#fff;stroke-width:2}"
    ".m-post-text{font-size:14px;font-weight:bold;fill:#fff;text-anchor:middle}"
    ".m-wind{fill:" INK ";stroke:" INK ";stroke-width:3}"
    ".m-bar{fill:" INK ";stroke:" INK ";stroke-width:1}.m-bar-open{fill:#fff}"
    ".m-o0,.m-o1,.m-o2,.m-o3,.m-o4{fill:none;stroke-width:2.4}"
    ".m-o0{stroke:" BLUE ";fill:" SKY ";fill-opacity:.25}"
    ".m-o1{stroke:" DANGER ";stroke-dasharray:12 5}.m-o2{stroke:" GREEN ";stroke-dasharray:5 3}"
    ".m-o3{stroke:" PURPLE ";stroke-dasharray:10 3 2 3}.m-o4{stroke:" INK ";stroke-dasharray:2 3}";

const char drawing_rose_style[] =
    "text{font-family:'DejaVu Sans',Verdana,Arial,sans-serif;fill:" INK "}"
    ".r-text{font-size:15px}.r-small{font-size:15px}.r-strong{font-weight:bold}"
    ".r-mid{text-anchor:middle}.r-end{text-anchor:end}"
    ".r-halo{stroke:#fff;stroke-width:3px;paint-order:stroke}"
    ".r-ground{fill:#f6e3d8;stroke:" INK ";stroke-width:1}"
    ".r-ring{fill:none;stroke:#7d8892;stroke-width:.8}"
    ".r-go{fill:#fff;stroke:#7d8892;stroke-width:.8}.r-open{stroke-dasharray:3 2}"
    ".r-turn{fill:none;stroke:" RED ";stroke-width:3.2}"
    ".r-today{fill:" INK ";stroke:" INK ";stroke-width:3}.r-dot{fill:" INK
    ";stroke:#fff;stroke-width:1.5}"
    ".r-gust{stroke:" INK ";stroke-width:2.2}.r-calm{fill:none;stroke:" INK ";stroke-width:3}";

const char drawing_trade_style[] =
    ".t-text{font:15px 'DejaVu Sans',Verdana,Arial,sans-serif;fill:" INK
    "}.t-strong{font-weight:bold}"
    ".t-end{text-anchor:end}.t-middle{text-anchor:middle}"
    ".t-halo{stroke:#fff;stroke-width:3px;paint-order:stroke}"
    ".t-grid{stroke:" GRID ";stroke-width:1}.t-axis{stroke:" INK ";stroke-width:1.5}"
    ".t-bound{stroke:" RED ";stroke-width:2.4}.t-broken{fill:#d55e00;fill-opacity:.13}"
    ".t-all,.t-field,.t-keep,.t-walk{fill:none;stroke-width:2.2}"
    ".t-all{stroke:" INK ";stroke-width:6;stroke-opacity:.3}.t-field{stroke:" BLUE "}"
    ".t-keep{stroke:" RED ";stroke-dasharray:7 4}.t-walk{stroke:" INK "}"
    ".t-mark{stroke:" INK ";stroke-width:2;stroke-dasharray:3 3;fill:none}"
    ".t-best{fill:" INK "}.t-met{fill:none;stroke:" GREEN ";stroke-width:2.4}"
    ".t-not{fill:none;stroke:" RED ";stroke-width:2.4}"
    ".t-open{fill:none;stroke:" INK ";stroke-width:2.2}";

const char drawing_wind_style[] =
    "text{font-family:'DejaVu Sans',Arial,sans-serif;fill:" INK "}"
    ".title{font-size:20px;font-weight:bold}.axis{font-size:16.5px}.label{font-size:16px}"
    ".halo{stroke:#fff;stroke-width:3px;paint-order:stroke}"
    ".apogee{stroke:" INK ";stroke-width:1.6;stroke-dasharray:10 3 2 3}"
    ".error{stroke:" INK ";stroke-width:2}"
    ".reading{fill:#fff;stroke-width:2.4}.reading.speed{stroke:" BLUE "}"
    ".reading.direction{stroke:" DANGER "}"
    ".middle{text-anchor:middle}.end{text-anchor:end}"
    ".paper{fill:#ffffff}.grid{stroke:" GRID ";stroke-width:1}.frame{fill:none;stroke:" INK
    ";stroke-width:1}"
    ".line{fill:none;stroke-width:2}.line.speed{stroke:" BLUE "}"
    ".line.direction{stroke:" DANGER "}"
    ".dot.speed{fill:" BLUE "}.dot.direction{fill:" DANGER "}"
    ".prior{fill:none;stroke-width:1;stroke-dasharray:5 3}"
    ".prior.speed{stroke:" BLUE "}.prior.direction{stroke:" DANGER "}"
    ".after.speed{fill:" BLUE ";fill-opacity:.18}"
    ".after.direction{fill:" DANGER ";fill-opacity:.18}"
    ".barb{fill:" INK ";stroke:" INK ";stroke-width:1.3}circle.barb{fill:none}";

/* Over the classes of the trade. */
const char drawing_skill_style[] =
    ".k-line{fill:none;stroke-width:2.2}.k-dot{stroke-width:2}"
    ".k-0{stroke:" BLUE "}.k-1{stroke:" RED "}.k-2{stroke:" GREEN "}.k-3{stroke:" INK "}"
    ".k-line.k-1{stroke-dasharray:7 4}.k-line.k-2{stroke-dasharray:2 3}"
    ".k-line.k-3{stroke-dasharray:12 4 3 4}"
    ".k-dot.k-0{fill:" BLUE "}.k-dot.k-1{fill:#fff}.k-dot.k-2{fill:" GREEN
    ";fill-opacity:.45}.k-dot.k-3{fill:#fff;stroke-dasharray:2 2}"
    ".k-bar.k-0{fill:" BLUE ";fill-opacity:.5}.k-bar.k-1{fill:#fff;stroke-width:2}"
    ".k-meant{stroke:" INK ";stroke-width:4;stroke-opacity:.3}";

/* Lightness falls from met over undecided to broken: grey tells them apart. */
const char drawing_window_style[] =
    "text{font-family:'DejaVu Sans',Verdana,Arial,sans-serif;fill:" INK "}"
    ".w-stamp{font-size:12.5px}.w-page{fill:#fff}.w-head{font-size:18px;font-weight:bold}.w-text{"
    "font-size:14px}"
    ".w-small{font-size:13.6px}.w-end{text-anchor:end}.w-strong{font-weight:bold}"
    ".w-number{font-size:13px;text-anchor:middle}.w-light{fill:#fff}"
    ".w-met{fill:#d9f0e6}.w-near{fill:#a3d3bf}.w-open{fill:#f0e442}.w-broken{fill:" DANGER "}"
    ".w-none{fill:#fff;stroke:" GRID ";stroke-dasharray:3 3}"
    ".w-mid{text-anchor:middle}.w-flight{fill:" INK "}"
    ".w-best{fill:none;stroke:" INK ";stroke-width:2.6}";

/* Shades of one blue, from light to dark: grey keeps their order. */
const char drawing_section_style[] =
    "text{font-family:'DejaVu Sans',Verdana,Arial,sans-serif;fill:" INK "}"
    ".s-page{fill:#fff}.s-head{font-size:18px;font-weight:bold}.s-text{font-size:14px}"
    ".s-small{font-size:13.6px}.s-end{text-anchor:end}.s-strong{font-weight:bold}"
    ".s-number{font-size:12.5px;text-anchor:end}text.s-light{fill:#fff}"
    ".s-0{fill:#f3f7fa}.s-1{fill:#d5e6f2}.s-2{fill:#abd0e8}.s-3{fill:#78b2da}.s-4{fill:#1f6a9c}"
    ".s-5{fill:#0a3350}.s-none{fill:#fff;stroke:" GRID ";stroke-dasharray:3 3}"
    ".s-barb{fill:" INK ";stroke:" INK ";stroke-width:2}.s-barb.s-light{fill:#fff;stroke:#fff}"
    ".s-calm{fill:none;stroke:" INK ";stroke-width:1.3}.s-calm.s-light{stroke:#fff}"
    ".s-chosen{fill:none;stroke:" INK ";stroke-width:3}.s-mark{fill:" INK "}";

/* Lightness falls as it is go more often: grey tells the same. */
const char drawing_season_style[] =
    ".s-text{font:15px 'DejaVu Sans',Verdana,Arial,sans-serif;fill:" INK "}"
    ".s-number{font:15px 'DejaVu Sans',Verdana,Arial,sans-serif;fill:" INK ";text-anchor:middle}"
    ".s-strong{font-weight:bold}.s-middle{text-anchor:middle}.s-end{text-anchor:end}"
    ".s-light{fill:#fff}.s-halo{stroke:#fff;stroke-width:3px;paint-order:stroke}"
    ".s-0{fill:#f4f1ea}.s-1{fill:#cfe3ee}.s-2{fill:#94c3de}.s-3{fill:#2f76a6}.s-4{fill:" BLUE "}"
    ".s-none{fill:#fff;stroke:" GRID ";stroke-dasharray:3 3}"
    ".s-best{fill:none;stroke:" INK ";stroke-width:2.6}"
    ".s-z95{fill:" SKY ";fill-opacity:.2;stroke:" BLUE ";stroke-width:1.4;stroke-dasharray:6 3}"
    ".s-z90{fill:" SKY ";fill-opacity:.25;stroke:" BLUE ";stroke-width:2}"
    ".s-z50{fill:#0072b2;fill-opacity:.3;stroke:" BLUE ";stroke-width:2.8}"
    ".s-field{fill:none;stroke:" GREEN ";stroke-width:2.6;stroke-dasharray:12 4 2 4}"
    ".s-keep{fill:#f3d6cb;fill-opacity:.7;stroke:" RED ";stroke-width:1.6}"
    ".s-frame{fill:none;stroke:" INK ";stroke-width:1.5}"
    ".s-bar{fill:" INK ";stroke:" INK ";stroke-width:3}"
    ".s-ring{fill:none;stroke:#7d8892;stroke-width:.8}"
    ".s-days{fill:#dfe6ea;stroke:#7d8892;stroke-width:.8}.s-go{fill:" BLUE "}";
