package visit

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"

	"fairlead/ingest/contract/event"
	"fairlead/processors/golf/club/order"
)

// A player may agree that their visits at two studios are told of as one player's. One
// studio makes a code, both enter it; the head office finds the same join in events of
// both. What the code hashes to is kept, so who reads the stores of one studio or of
// the head office can enter it nowhere.

// joinSigns are the signs of a code before those that check it: 99 bits.
const joinSigns = 22

// JoinCode writes a code from random numbers, of which joinSigns are taken.
func JoinCode(random func() uint64) string {
	code := make([]byte, joinSigns)
	for i := range code {
		code[i] = order.Signs[random()%uint64(len(order.Signs))]
	}
	code = append(code, checkSigns(code)...)
	var parts []string
	for i := 0; i < len(code); i += 4 {
		parts = append(parts, string(code[i:i+4]))
	}
	return strings.Join(parts, "-")
}

// checkSigns make a code that was made up, or read wrongly, no code.
func checkSigns(code []byte) []byte {
	sum := sha256.Sum256(append([]byte("fairlead join check\n"), code...))
	return []byte{order.Signs[int(sum[0])%len(order.Signs)], order.Signs[int(sum[1])%len(order.Signs)]}
}

// JoinOf is the join that a code stands for.
func JoinOf(code string) (string, error) {
	plain := strings.ToUpper(strings.Map(func(r rune) rune {
		if r == '-' || r == ' ' {
			return -1
		}
		return r
	}, code))
	if len(plain) != joinSigns+2 || string(checkSigns([]byte(plain[:joinSigns]))) != plain[joinSigns:] {
		return "", fmt.Errorf("it is not a code that `fairlead forward code` made, or a sign of it is wrong")
	}
	sum := sha256.Sum256([]byte("fairlead join\n" + plain))
	return "j-" + hex.EncodeToString(sum[:20]), nil
}

var _ = kind(Kind{
	Name: "player_joined", Bears: OnPages, Apart: true, needs: needsLatest,
	Acts: []Act{{
		Name: "join", Short: "The player agrees that their visits at another studio are told of as the same player's",
		Example: "join --bay north CODE",
		Fields:  []Field{{Name: "code", Arg: 1, Help: "the code that the other studio enters too; fairlead forward code makes one"}},
		read: func(r *Reader, ev *event.VisitEvent) {
			j := &event.PlayerJoined{}
			code, err := r.Text("code"), error(nil)
			if code != "" {
				if j.Join, err = JoinOf(code); err != nil {
					r.Bad("code", code, err.Error(), "read it again, or make one and enter it in both studios")
				}
			}
			ev.Session = r.Text("session")
			ev.Body = &event.VisitEvent_PlayerJoined{PlayerJoined: j}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		needSession(c, ev)
		c.ID("join", ev.GetPlayerJoined().GetJoin(), false)
	},
	later: func(f *folder, ev *event.VisitEvent, _ Said) {
		if s := f.sessionOf(ev); s != nil {
			s.Joins = append(s.Joins, Joined{ev.Id, ev.EffectiveUnixNs, ev.Who, ev.GetPlayerJoined().GetJoin()})
		}
	},
	says: says("the player agreed to be told of as one with a player of another studio"),
})

// Joined is a player's agreement to be told of as one with a player of another studio.
type Joined struct {
	Event string
	At    int64
	Who   string
	Join  string
}

// JoinsOf reads from the events of one studio's bays whom its joins are of: the player
// of each join that stands, by its session. A join entered for two players is of nobody.
func JoinsOf(all []*event.VisitEvent) map[string]string {
	byBay := map[string][]*event.VisitEvent{}
	for _, ev := range all {
		byBay[ev.Bay] = append(byBay[ev.Bay], ev)
	}
	out := map[string]string{}
	for _, events := range byBay {
		l := &Log{}
		for _, ev := range events {
			l.Add(ev)
		}
		for _, s := range l.Timeline().Sessions {
			for _, j := range s.Joins {
				if before, ok := out[j.Join]; ok && before != s.Player {
					out[j.Join] = ""
				} else if j.Join != "" && !s.Erased {
					out[j.Join] = s.Player
				}
			}
		}
	}
	return out
}
