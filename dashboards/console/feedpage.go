package console

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"

	"fairlead/ingest/bay/desk"
	"fairlead/ingest/bay/sample"
	"fairlead/ingest/bay/sheet"
	"fairlead/ingest/contract/event"
	"fairlead/processors/ask/guess"
)

// The page of devices: a sample of what a device writes, the map that is drafted
// of it, the values that it gives, and the bay where it goes to work.

const (
	// mostSampled is how much of a dropped file is looked at; a workbook or a database
	// is looked at whole.
	mostSampled = 256 << 10
	// toldPrefix marks the inputs of a form that are answers.
	toldPrefix = "told."
)

// feedRoutes adds the page to the console's.
func (s *server) feedRoutes(mux *http.ServeMux) {
	if s.desk.Conn == nil {
		return
	}
	mux.HandleFunc("GET /feeds", s.feedBays)
	mux.HandleFunc("GET /feeds/{bay}", s.knownBay(s.feedPage))
	mux.HandleFunc("GET /feeds/{bay}/live", s.knownBay(s.feedLive))
	mux.HandleFunc("POST /feeds/{bay}/sample", s.knownBay(s.feedSample))
	mux.HandleFunc("POST /feeds/{bay}/draft", s.knownBay(s.feedDraft))
	mux.HandleFunc("POST /feeds/{bay}/read", s.knownBay(s.feedRead))
	mux.HandleFunc("POST /feeds/{bay}/beside", s.knownBay(s.feedBeside))
	mux.HandleFunc("POST /feeds/{bay}/work", s.knownBay(s.feedWork))
}

func (s *server) knownBay(next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if err := s.writer.Known(r.PathValue("bay")); err != nil {
			s.fail(w, http.StatusNotFound, err)
			return
		}
		next(w, r)
	}
}

func (s *server) feedBays(w http.ResponseWriter, r *http.Request) {
	http.Redirect(w, r, "/feeds/"+s.bays[0], http.StatusSeeOther)
}

// feedPage shows a bay's feeds, and where to begin with a new device.
func (s *server) feedPage(w http.ResponseWriter, r *http.Request) {
	bay := r.PathValue("bay")
	data := map[string]any{"Title": "Devices of " + bay, "Bay": bay, "Bays": s.bays, "Studio": s.studio, "V": s.feedStates(bay)}
	feeds, folders, err := s.desk.Feeds(r.Context(), bay)
	data["Feeds"], data["Folders"] = feeds, folders
	if err != nil {
		data["Away"] = err.Error()
	}
	s.show(w, http.StatusOK, "feed.html", data)
}

// feedSample takes a sample, dropped or of the bay's own, and drafts its map.
func (s *server) feedSample(w http.ResponseWriter, r *http.Request) {
	bay := r.PathValue("bay")
	var files []sample.File
	var err error
	from := r.FormValue("from")
	if kind, name, ok := strings.Cut(from, ":"); ok {
		files, err = s.look(r, bay, kind, name)
	} else {
		files, err = droppedFiles(r)
	}
	if err != nil {
		s.feedSays(w, err)
		return
	}
	s.draftOf(w, r, s.samples.keep(files), from)
}

// look asks the bay for the latest files of one of its feeds or folders.
func (s *server) look(r *http.Request, bay, kind, name string) ([]sample.File, error) {
	if kind == "feed" {
		return s.desk.Look(r.Context(), bay, name, "")
	}
	return s.desk.Look(r.Context(), bay, "", name)
}

func droppedFiles(r *http.Request) (files []sample.File, err error) {
	if err := r.ParseMultipartForm(mostForm); err != nil {
		return nil, fmt.Errorf("the files can't be taken: %w: drop fewer or smaller ones, a few hundred shots say enough", err)
	}
	for _, h := range r.MultipartForm.File["files"] {
		f, err := h.Open()
		if err != nil {
			return nil, err
		}
		data, err := io.ReadAll(f) // the form bounds it
		f.Close()
		if err != nil {
			return nil, err
		}
		if sheet.Kind(data) == "" {
			data = data[:min(len(data), mostSampled)]
		}
		file, err := sample.Of(h.Filename, data, nil)
		if err != nil {
			return nil, err
		}
		files = append(files, file)
	}
	if len(files) == 0 {
		return nil, errors.New("no file came: drop one, or choose a place of the bay")
	}
	return files, nil
}

// feedDraft drafts the map anew after an answer.
func (s *server) feedDraft(w http.ResponseWriter, r *http.Request) {
	s.draftOf(w, r, r.FormValue("sample"), r.FormValue("from"))
}

// benchView is the workbench.
type benchView struct {
	Bay, Sample, From, Device string
	Names                     []string
	Lines                     []string
	Told                      map[string]string // answers so far, by input name
	Questions                 []guess.Question
	Fields                    []benchField
	Unused                    []string
	AllFields                 []string
	Map                       string
	Reading                   *feedReading
	Feeds                     []desk.Feed
	Folders                   []desk.Folder
	Folder                    string // that the sample is from
	Error                     string
}

type benchField struct {
	*guess.Field
	Label string
	Units []string
	Turn  bool   // whether it can be turned round
	Way   string // the answer by which it is as it is, yes or no
	Back  string // and the other
}

const shownLines = 12

// draftOf drafts and shows; key names the sample.
func (s *server) draftOf(w http.ResponseWriter, r *http.Request, key, from string) {
	files := s.samples.get(key)
	if files == nil {
		s.feedSays(w, errSampleGone)
		return
	}
	v := &benchView{Bay: r.PathValue("bay"), Sample: key, From: from, Device: nonEmpty(r.FormValue("device"), "device"),
		Told: map[string]string{}}
	answers := guess.Answers{}
	for name, values := range r.Form {
		// A question about a column and the list behind it have one name: what is chosen in either counts.
		values = slices.DeleteFunc(slices.Clone(values), func(value string) bool { return value == "" })
		if k, ok := strings.CutPrefix(name, toldPrefix); ok && len(values) > 0 {
			answers[k], v.Told[name] = values[len(values)-1], values[len(values)-1]
		}
	}
	v.show(files)
	if event.CheckName("device", v.Device) != nil {
		v.Device, v.Error = "device", fmt.Sprintf("%q is no device's name: use 1 to 32 of a-z, 0-9 and -", v.Device)
	}
	p, err := guess.DraftFiles(files, v.Device, answers, nil)
	if err != nil {
		v.Error = err.Error()
		s.feedPart(w, "feed-bench", v)
		return
	}
	v.propose(p)
	v.Reading = s.readFeed(v.Map, files)
	v.Reading.Open = len(p.Questions)
	if feeds, folders, err := s.desk.Feeds(r.Context(), v.Bay); err != nil {
		v.Error = err.Error()
	} else {
		v.Feeds, v.Folders = feeds, folders
	}
	s.feedPart(w, "feed-bench", v)
}

// show takes the first lines of the files.
func (v *benchView) show(files []sample.File) {
	for _, f := range files {
		v.Names = append(v.Names, f.Name)
		for line := range strings.Lines(f.Text()) {
			if len(v.Lines) < shownLines {
				v.Lines = append(v.Lines, cutText(strings.TrimRight(line, "\r\n"), 240))
			}
		}
	}
	if kind, name, ok := strings.Cut(v.From, ":"); ok && kind == "folder" {
		v.Folder = name
	}
}

func cutText(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + " …"
	}
	return s
}

// propose takes in what was drafted.
func (v *benchView) propose(p *guess.Proposal) {
	v.Map, v.Questions, v.Unused = p.Unbound(), p.Questions, p.Left
	for _, f := range p.Fields {
		info, _ := event.FieldNamed(f.Name)
		shown := benchField{Field: f, Label: info.Label, Units: unitsOf(f), Turn: f.Sided() && f.Positive == nil, Way: "no", Back: "yes"}
		if v.Told[toldPrefix+guess.ToldTurn+f.Name] == "yes" {
			shown.Way, shown.Back = "yes", "no"
		}
		v.Fields = append(v.Fields, shown)
	}
	for _, f := range event.Fields() {
		v.AllFields = append(v.AllFields, f.Name)
	}
}

// feedRead reads the sample through a map that was edited by hand.
func (s *server) feedRead(w http.ResponseWriter, r *http.Request) {
	files := s.samples.get(r.FormValue("sample"))
	if files == nil {
		s.feedSays(w, errSampleGone)
		return
	}
	s.feedPart(w, "feed-reading", s.readFeed(r.FormValue("map"), files))
}

// feedWork puts the map to work in the bay.
func (s *server) feedWork(w http.ResponseWriter, r *http.Request) {
	bay := r.PathValue("bay")
	work := desk.Work{Map: strings.ReplaceAll(r.FormValue("map"), "\r\n", "\n")}
	to := r.FormValue("to")
	if name, ok := strings.CutPrefix(to, "feed:"); ok {
		feeds, _, err := s.desk.Feeds(r.Context(), bay)
		if err != nil {
			s.feedSays(w, err)
			return
		}
		at := slices.IndexFunc(feeds, func(f desk.Feed) bool { return f.Name == name })
		if at < 0 {
			s.feedSays(w, fmt.Errorf("bay %s has no feed %s any more", bay, name))
			return
		}
		work.Feed, work.Was = name, feeds[at].Version
	} else {
		work.Feed, work.Folder, work.Grows = r.FormValue("name"), strings.TrimPrefix(to, "folder:"), r.FormValue("grows") != ""
		work.Pattern = strings.TrimSpace(r.FormValue("pattern"))
	}
	version, err := s.desk.Work(r.Context(), bay, work)
	if err != nil {
		s.feedSays(w, err)
		return
	}
	s.log.Info("a field map was put to work", "bay", bay, "feed", work.Feed, "version", version)
	s.feedPart(w, "feed-works", map[string]string{"Bay": bay, "Feed": work.Feed, "Version": version})
}

// feedSays shows why something was not done. It is swapped in like any answer.
func (s *server) feedSays(w http.ResponseWriter, err error) {
	s.feedPart(w, "feed-says", map[string]any{"Error": err.Error()})
}

func (s *server) feedPart(w http.ResponseWriter, name string, data any) {
	var b bytes.Buffer
	if err := s.pages.ExecuteTemplate(&b, name, data); err != nil {
		s.log.Error("a part of the page of devices can't be shown", "part", name, "error", err)
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Write(b.Bytes())
}

// feedLive sends how the bay's feeds are getting on.
func (s *server) feedLive(w http.ResponseWriter, r *http.Request) {
	s.lookLive(w, r, "feeds", func() any { return s.feedStates(r.PathValue("bay")) })
}

var errSampleGone = errors.New("the console does not hold this sample any more: drop it again")
