package console

import (
	"context"
	"fmt"
	"time"

	"fairlead/processors/ask/enquiry"
	"fairlead/processors/visit"
)

// dueNews is that the fleet learnt what would help a player who was not here since.
const dueNews = "news of the fleet"

// newsFor is how long an answer of the fleet is news.
const newsFor = 90 * 24 * time.Hour

// dueNews lists the players whom kept answers to "whom would a finding help most" would
// help, as far as they were not here since. Without a fleet, or while it is away, none.
func (s *server) dueNews(ctx context.Context, files map[string]*visit.File) (out []duePlayer) {
	if s.counsel == nil || s.counsel.fleet == nil {
		return nil
	}
	f := s.counsel.fleet()
	if f == nil {
		return nil
	}
	helped, err := enquiry.HelpedMost(ctx, f, s.studio, s.now().Add(-newsFor))
	if err != nil {
		s.log.Warn("whom the fleet's answers would help can't be read now", "error", err)
		return nil
	}
	for _, h := range helped {
		file := files[h.Player]
		if file == nil {
			continue
		}
		if last := file.Last(); last == nil || last.Open() || last.From > h.Asked.UnixNano() {
			continue
		}
		out = append(out, duePlayer{visit.Due{What: dueNews, At: h.Asked.UnixNano(), Of: fmt.Sprintf("%s (a gain with %.0f %%)", h.Step,
			100*h.Chance)}, h.Player, s.people.Name(h.Player)})
	}
	return out
}
