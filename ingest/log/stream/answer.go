package stream

import "strings"

// AnswerTo says whether a request's reply subject is one made for answers: the
// broker's own, which leads back into the asker's account, or the inbox of a
// connection. Where a place asks by its subject, another bay's inbox is none. The
// broker's accounts see to it already; whoever answers looks all the same, for a
// server of one's own may be set up otherwise.
func AnswerTo(reply string, place Place) bool {
	first, rest, ok := strings.Cut(reply, ".")
	switch {
	case !ok || rest == "" || strings.ContainsAny(reply, "*> \t"):
		return false
	case first == "_R_" || first == "_INBOX":
		return true
	case !strings.HasPrefix(first, "_INBOX_"):
		return false
	}
	// _INBOX_STUDIO_BAY is a bay's, _INBOX_ROLE one of the hub's own.
	ofBay := strings.Contains(strings.TrimPrefix(first, "_INBOX_"), "_")
	return !ofBay || place == Place{} || first == place.InboxPrefix()
}
