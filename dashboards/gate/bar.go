package gate

import (
	"bytes"
	"html/template"
	"net/http"
)

// barred is a response whose pages begin with a bar: who is signed in, or that
// nobody is asked. page.Show writes it.
type barred struct {
	http.ResponseWriter
	bar template.HTML
}

// Unwrap is for http.ResponseController.
func (b *barred) Unwrap() http.ResponseWriter { return b.ResponseWriter }

// Bar is what a page begins with.
func (b *barred) Bar() template.HTML { return b.bar }

// barView is what the bar shows.
type barView struct {
	Open    bool
	Clear   bool // what goes between here and the tablet can be heard
	Name    string
	Roles   []Role
	Paired  bool
	Manager bool
	Person  bool
	To      string
}

func (g *Gate) openBar() template.HTML { return g.bar(barView{Open: true}) }

func (g *Gate) barOf(i *Identity, r *http.Request) template.HTML {
	if i.Hub {
		return ""
	}
	return g.bar(barView{Name: i.Name, Roles: i.Roles, Paired: i.Paired, Manager: i.Has(Manager), Person: i.Person != "", To: r.URL.Path})
}

func (g *Gate) bar(v barView) template.HTML {
	var b bytes.Buffer
	v.Clear = g.o.Clear
	if err := g.pages.ExecuteTemplate(&b, "bar", v); err != nil {
		g.o.Logger.Error("the bar can't be shown", "error", err)
		return ""
	}
	return template.HTML(b.String())
}
