package sheets

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"fairlead/deploy/axe"
	"fairlead/deploy/chromium"
)

// lookAt opens the papers as a phone and a tablet show them: nothing may run
// off the side, and every link is reached by Tab alone. Pictures go to a folder
// when one is named.
func lookAt(t *testing.T, url, folder string) {
	ctx := chromium.Tab(t)
	do := func(actions ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := chromedp.Do(ctx, actions...); err != nil {
			t.Fatal(err)
		}
	}
	pages := map[string]string{"list": "/sheets/", "sheet": "/sheets/v-build", "amended": "/sheets/v-amend",
		"keep": "/sheets/v-keep", "report": "/reports/v-26", "fail": "/sheets/nobody"}
	axe.Demand(t, slices.Collect(maps.Values(pages)), "/sheets/", "/reports/")
	for i, name := range slices.Sorted(maps.Keys(pages)) {
		do(chromedp.EmulateViewport(390, 900), chromedp.Navigate(url+pages[name]), chromedp.WaitReady("main"))
		for _, width := range []int64{390, 1024} {
			do(chromedp.EmulateViewport(width, 900))
			over, err := chromedp.Run(ctx, chromedp.Evaluate[int](`document.documentElement.scrollWidth - window.innerWidth`))
			if err != nil || over > 0 {
				t.Errorf("%s at %d: %d pixels too wide, %v", name, width, over, err)
			}
			if folder != "" {
				picture, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
				must(t, err)
				must(t, os.WriteFile(filepath.Join(folder, fmt.Sprintf("%s-%d.png", name, width)), picture, 0o644))
			}
		}
		for _, v := range axe.Views(i) { // nothing keeps people from reading it, by day and by night
			do(chromedp.EmulateViewport(v.Wide, 900))
			for _, line := range axe.Faults(t, ctx, v.Scheme) {
				t.Errorf("%s, %s at %d: %s", name, v.Scheme, v.Wide, line)
			}
		}
	}
	// On paper: the order on one sheet of paper with its cautions on the back.
	for paper, size := range map[string][2]float64{"A4": {8.27, 11.69}, "Letter": {8.5, 11}} {
		for name, path := range map[string]string{"sheet": "/sheets/v-build", "report": "/reports/v-26"} {
			do(chromedp.Navigate(url+path), chromedp.WaitReady("main"))
			pdf, err := chromedp.Run(ctx, printed(size))
			must(t, err)
			pages := bytes.Count(pdf, []byte("/Type /Page\n"))
			if name == "sheet" && pages != 2 {
				t.Errorf("the sheet takes %d pages of %s", pages, paper)
			}
			if name == "report" && pages != 1 {
				t.Errorf("the report of two sessions in short takes %d pages of %s", pages, paper)
			}
			if name == "report" { // a visit of four kinds of club
				do(onPaper("print"))
				four, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](`(() => {
					for (const a of document.querySelectorAll('article.session')) a.after(a.cloneNode(true));
					return [...document.querySelectorAll('.short')].filter(s => s.querySelector('figure').getBoundingClientRect().bottom >
						s.getBoundingClientRect().bottom).map(s => s.innerText.slice(0, 80)) })()`))
				must(t, err)
				if len(four) > 0 {
					t.Errorf("on %s pictures run out of their boxes: %q", paper, four)
				}
				pdf, err := chromedp.Run(ctx, printed(size))
				must(t, err)
				do(onPaper(""))
				if pages := bytes.Count(pdf, []byte("/Type /Page\n")); pages > 3 {
					t.Errorf("the report of four kinds of club takes %d pages of %s", pages, paper)
				}
			}
			if folder != "" {
				must(t, os.WriteFile(filepath.Join(folder, name+"-"+paper+".pdf"), pdf, 0o644))
			}
		}
	}
	do(chromedp.Navigate(url+"/sheets/v-build"), chromedp.WaitReady("main"))
	links, err := chromedp.Run(ctx, chromedp.Evaluate[int](`document.querySelectorAll('a').length`))
	must(t, err)
	reached := map[string]bool{}
	for range links {
		do(chromedp.KeyEvent(kb.Tab))
		at, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.activeElement.href + (getComputedStyle(document.activeElement).outlineStyle === 'none' ? ' unseen' : '')`))
		must(t, err)
		reached[at] = true
	}
	if len(reached) != links || reached[""] {
		t.Errorf("Tab reaches %d of %d links: %v", len(reached), links, reached)
	}
}

// onPaper shows pages as they are printed, or (no medium) as on a screen.
func onPaper(medium string) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, target *chromedp.Target) (v chromedp.Void, err error) {
		_, err = cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: medium})
		return v, err
	}
}

// printed prints the page on paper of a size in inches.
func printed(size [2]float64) chromedp.Action[[]byte] {
	return func(ctx context.Context, target *chromedp.Target) ([]byte, error) {
		r, err := cdp.Call(ctx, target, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: size[0], PaperHeight: size[1]})
		if err != nil {
			return nil, err
		}
		return r.Data, nil
	}
}
