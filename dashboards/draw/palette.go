package draw

import "fmt"

// Style is the one palette, for light and dark readers. Series s1 to s6 differ in
// lightness too, so that they stay apart in grey and for eyes that mix red with
// green; r1 to r5 are the bands of a launch window, best first.
const Style = `.fl{--fl-ink:#1d2529;--fl-soft:#57636a;--fl-line:#d5d1c4;--fl-paper:#fffdf8;--fl-run:#995600;` +
	`--fl-better:#2f5d3a;--fl-worse:#a12622;--fl-plain:#2d4a53;--fl-warn:#7d5f00;--fl-ground:#6c8058;` +
	`--fl-s1:#0b5d8f;--fl-s2:#b3500f;--fl-s3:#3f7426;--fl-s4:#7c3f92;--fl-s5:#866300;--fl-s6:#1f7a7a;` +
	`--fl-r1:#1f6f8b;--fl-r2:#5f9fb2;--fl-r3:#96c0cb;--fl-r4:#c5dce1;--fl-r5:#eef3f4}` +
	`@media (prefers-color-scheme:dark){.fl{--fl-ink:#ece8dd;--fl-soft:#a3adb2;--fl-line:#38434a;--fl-paper:#1c2327;--fl-run:#f0b357;` +
	`--fl-better:#9ccfa6;--fl-worse:#ff9a8f;--fl-plain:#8fb7c3;--fl-warn:#e2c060;--fl-ground:#93a780;` +
	`--fl-s1:#6db7e8;--fl-s2:#f09a5e;--fl-s3:#94cf78;--fl-s4:#cf9be2;--fl-s5:#dcbf57;--fl-s6:#6fcfcf;` +
	`--fl-r1:#9fd0de;--fl-r2:#6aa6b8;--fl-r3:#457888;--fl-r4:#2c4f5b;--fl-r5:#202f36}}` +
	`.fl text{font:13px system-ui,"Segoe UI",Roboto,"DejaVu Sans",sans-serif;fill:var(--fl-ink);font-variant-numeric:tabular-nums}` +
	`.fl .soft,.fl .tick{fill:var(--fl-soft)}.fl .small{font-size:11px}.fl .head{font-weight:600}.fl .big{font-size:16px;font-weight:600}` +
	`.fl .paper{fill:var(--fl-paper)}.fl .grid{stroke:var(--fl-line);stroke-width:1;fill:none}` +
	`.fl .zero,.fl .target{stroke:var(--fl-soft);stroke-width:1.5;stroke-dasharray:7 5}.fl .frame{fill:none;stroke:var(--fl-line)}` +
	`.fl .ground{stroke:var(--fl-ground);stroke-width:2}.fl .outline{fill:none;stroke:var(--fl-soft);stroke-width:2}` +
	`.fl .aim{stroke:var(--fl-ink);stroke-width:2.5;fill:none}.fl .band{fill:var(--fl-line);opacity:.45}` +
	`.fl .s1{--c:var(--fl-s1)}.fl .s2{--c:var(--fl-s2)}.fl .s3{--c:var(--fl-s3)}.fl .s4{--c:var(--fl-s4)}.fl .s5{--c:var(--fl-s5)}.fl .s6{--c:var(--fl-s6)}` +
	`.fl .d1 .line{stroke-dasharray:none}.fl .d2 .line{stroke-dasharray:9 5}.fl .d3 .line{stroke-dasharray:2 4}` +
	`.fl .d4 .line{stroke-dasharray:11 4 2 4}.fl .d5 .line{stroke-dasharray:5 3}.fl .d6 .line{stroke-dasharray:14 3 2 3 2 3}` +
	`.fl .line{fill:none;stroke:var(--c,var(--fl-ink));stroke-width:2}.fl .faint .line{stroke-width:1.2;opacity:.45}` +
	`.fl .area{fill:var(--c,var(--fl-ink));fill-opacity:.12;stroke:var(--c,var(--fl-ink))}.fl .solid{fill:var(--c,var(--fl-ink))}` +
	`.fl .pale{fill:var(--c,var(--fl-ink));opacity:.22}.fl .thick{fill:none;stroke:var(--c,var(--fl-ink));stroke-width:5;stroke-linecap:round}` +
	`.fl .shot,.fl .sign{fill:var(--fl-paper);stroke:var(--c,var(--fl-ink));stroke-width:1.6}.fl .running .shot,.fl .running .sign{fill:var(--c,var(--fl-run))}` +
	`.fl .out{opacity:.35}.fl .tapped{stroke:var(--fl-run);stroke-width:5}.fl .latest{stroke:var(--fl-ink);stroke-width:3}.fl .odd{fill:none;stroke:var(--fl-worse);stroke-width:2}` +
	`.fl .mean .disc{fill:var(--c,var(--fl-ink));stroke:var(--fl-paper);stroke-width:1.5}.fl .mean text{fill:var(--fl-paper);font-weight:700}` +
	`.fl .mean .tie{stroke:var(--c,var(--fl-ink))}.fl .label{paint-order:stroke;stroke:var(--fl-paper);stroke-width:3px;font-weight:600}` +
	`.fl .better{--c:var(--fl-better)}.fl .worse{--c:var(--fl-worse)}.fl .same{--c:var(--fl-soft)}.fl .unsure{--c:var(--fl-plain)}.fl .warn{--c:var(--fl-warn)}` +
	`.fl .ci{stroke:var(--c);stroke-width:3}.fl .pi{stroke:var(--c);stroke-width:1}.fl .pt{fill:var(--c);stroke:var(--c);stroke-width:2}` +
	`.fl .unsure .pt{fill:var(--fl-paper)}.fl .word{fill:var(--c,var(--fl-ink))}.fl .ring{fill:var(--fl-paper);stroke:var(--c);stroke-width:3}` +
	`.fl .cell{fill:var(--c)}.fl .hatch path{stroke:var(--fl-soft);stroke-width:1}.fl .veil{fill:var(--fl-paper);opacity:.72}` +
	`.fl .r1{fill:var(--fl-r1)}.fl .r2{fill:var(--fl-r2)}.fl .r3{fill:var(--fl-r3)}.fl .r4{fill:var(--fl-r4)}.fl .r5{fill:var(--fl-r5)}`

// seriesMost is how many series have a colour and a line of their own.
const seriesMost = 6

// Series is the class of the nth series, from 1: a colour and a line; those after
// the sixth begin anew, and stay apart by shape and number.
func Series(n int) string {
	k := (max(n, 1)-1)%seriesMost + 1
	return fmt.Sprintf("s%d d%d", k, k)
}
