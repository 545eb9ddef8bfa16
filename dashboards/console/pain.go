package console

import (
	"context"
	"slices"
	"sync"
	"time"

	"fairlead/ingest/contract/event"
)

// pains remembers for a while what was noted of pain of the players that bays
// show: a bay's page is made anew with every shot.
type pains struct {
	mu   sync.Mutex
	said map[string]painSaid // by player
}

type painSaid struct {
	lines []string
	at    time.Time
}

const painHolds = time.Minute

// forget drops what is remembered when an event may have changed it.
func (p *pains) forget(ev *event.VisitEvent) {
	if slices.Contains([]string{"player_noted", "session_opened", "session_corrected", "session_erased", "voided"}, event.KindOf(ev)) {
		p.mu.Lock()
		p.said = nil
		p.mu.Unlock()
	}
}

// painOf is what a bay says of its player before anything else.
func (s *server) painOf(player string) []string {
	if player == "" {
		return nil
	}
	s.pains.mu.Lock()
	known, ok := s.pains.said[player]
	s.pains.mu.Unlock()
	if ok && time.Since(known.at) < painHolds {
		return known.lines
	}
	ctx, stop := context.WithTimeout(context.Background(), 5*time.Second) // the store may hang: the bay's page must not
	defer stop()
	var lines []string
	for _, n := range s.file(ctx, player).Pain() {
		lines = append(lines, "Pain or an injury was noted of this player: “"+n.Given.GetWords()+
			"”. Ask before a club is swung, stop at pain, and send the player to a qualified person.")
	}
	s.pains.mu.Lock()
	defer s.pains.mu.Unlock()
	if s.pains.said == nil {
		s.pains.said = map[string]painSaid{}
	}
	s.pains.said[player] = painSaid{lines, time.Now()}
	return lines
}
