package group

import "time"

// window is how many bytes may wait for the head office's word at a time. A line that is
// slower than the studio may send, or a head office that many studios reach at once, shows
// in how long the word takes, and in nothing else: what stands in line on the way would
// hold up pings and answers behind it, until the way is taken for cut.
type window struct{ bytes, most int }

const (
	leastWindow = 16 << 10
	// soon is within what the word comes where nothing stands in line; late is when it is
	// high time to send less.
	soon = time.Second
	late = 3 * time.Second
)

// took notes how long the word on a batch took, whether the window held more from being
// sent, and whether there was none.
func (w *window) took(d time.Duration, full, failed bool) {
	switch {
	case failed:
		w.bytes /= 4
	case d > late:
		w.bytes /= 2
	case d < soon && full:
		w.bytes *= 2
	}
	w.bytes = max(min(w.bytes, w.most), leastWindow)
}
