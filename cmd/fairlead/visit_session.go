package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/glossary"
	"fairlead/ingest/contract/unit"
)

// wordOf reads a word of an enumeration of the contract: left for HAND_LEFT.
func wordOf(flag, word, prefix string, values map[string]int32) (int32, error) {
	name := prefix + strings.ToUpper(strings.ReplaceAll(word, "-", "_"))
	if v, ok := values[name]; ok {
		return v, nil
	}
	return 0, fmt.Errorf("%s %q: use %s", flag, word, strings.Join(wordsOf(prefix, values), ", "))
}

func wordsOf(prefix string, values map[string]int32) []string {
	out := make([]string, len(values))
	for name, i := range values {
		word := strings.ReplaceAll(strings.ToLower(strings.TrimPrefix(name, prefix)), "_", "-")
		if int(i) < len(out) {
			out[i] = word
		}
	}
	return out
}

func newVisitOpen() *cobra.Command {
	o := &event.SessionOpened{}
	var hand, visit string
	c := visitEvent("open", "Open a session; one that is open is closed by it", "open --bay north --player p-017 --hand right --category iron",
		func(_ *cobra.Command, _ []string, ev *event.VisitEvent) error {
			h, err := wordOf("hand", hand, "HAND_", event.Hand_value)
			o.Hand, ev.Visit = event.Hand(h), visit
			ev.Body = &event.VisitEvent_SessionOpened{SessionOpened: o}
			return err
		})
	c.Args = cobra.NoArgs
	f := c.Flags()
	f.StringVar(&o.Player, "player", "", "player's pseudonym")
	f.StringVar(&hand, "hand", "unknown", "right, left or unknown")
	f.StringVar(&o.Category, "category", "", strings.Join(glossary.CategoryNames(), ", "))
	f.StringVar(&o.Fitter, "fitter", "", "fitter's pseudonym")
	f.StringVar(&o.Aim, "aim", "", "what the player came for, in the player's words")
	f.StringVar(&visit, "visit", "", "visit it belongs to (default: the player's visit of the day)")
	f.BoolVar(&o.PoolingConsent, "consent", false, "the player lets the shots teach across players")
	f.BoolVar(&o.Minor, "minor", false, "the player is a minor")
	return c
}

func newVisitSetting() *cobra.Command {
	s := &event.SettingChanged{}
	numbers := []struct {
		value *unit.Value
		name  string
		help  string
		to    **float64
	}{
		{unit.NewValue(unit.Length, 0), "tee-height", "height of the tee", &s.TeeHeightM},
		{unit.NewValue(unit.Length, 0), "target-distance", "distance of the target", &s.TargetDistanceM},
		{unit.NewValue(unit.Angle, 0), "target-bearing", "aim against the device's zero line, right positive", &s.TargetBearingDeg},
		{unit.NewValue(unit.Length, 0), "green-speed", "run of a ball released at 1.83 m/s", &s.GreenSpeedM},
		{unit.NewValue(unit.Speed, 0), "wind-speed", "wind speed", &s.WindSpeedMps},
		{unit.NewValue(unit.Angle, 0), "wind-toward", "where it blows to: 0 is down-range, right positive", &s.WindTowardDeg},
	}
	c := visitEvent("setting", "Say where and with what balls is hit; what is not named stays", "setting --bay north --place indoor --surface mat --target-distance 150yd",
		func(_ *cobra.Command, _ []string, ev *event.VisitEvent) error {
			for i := range numbers {
				if n := numbers[i]; n.value.Given {
					*n.to = &n.value.V
				}
			}
			ev.Body = &event.VisitEvent_SettingChanged{SettingChanged: s}
			return nil
		})
	c.Args = cobra.NoArgs
	f := c.Flags()
	f.StringVar(&s.Place, "place", "", "indoor or outdoor")
	f.StringVar(&s.Surface, "surface", "", "mat, grass or tee")
	f.StringVar(&s.BallModel, "ball", "", "ball model")
	f.StringVar(&s.BallClass, "ball-class", "", "premium, range, limited-flight, …")
	for _, n := range numbers {
		f.Var(n.value, n.name, n.help)
	}
	return c
}

func newVisitCorrect() *cobra.Command {
	s := &event.SessionCorrected{}
	var hand string
	c := visitEvent("correct", "Correct a session's player, hand or bay, as a whole", "correct --bay north --hand left",
		func(_ *cobra.Command, _ []string, ev *event.VisitEvent) error {
			if hand != "" {
				h, err := wordOf("hand", hand, "HAND_", event.Hand_value)
				if err != nil {
					return err
				}
				s.Hand = event.Hand(h)
			}
			ev.Body = &event.VisitEvent_SessionCorrected{SessionCorrected: s}
			return nil
		})
	c.Args = cobra.NoArgs
	c.Flags().StringVar(&s.Player, "player", "", "who the player really was")
	c.Flags().StringVar(&hand, "hand", "", "right or left")
	c.Flags().StringVar(&s.Bay, "to-bay", "", "bay that the session really was in")
	return c
}

func newVisitUndo() *cobra.Command {
	var reason string
	c := visitEvent("undo [EVENT]", "Take an event back (default: the last one); taking a taking-back back brings the event back", "undo --bay north",
		func(c *cobra.Command, args []string, ev *event.VisitEvent) error {
			void := &event.Voided{Reason: reason}
			if len(args) == 1 {
				void.Event = args[0]
			} else {
				v, err := newVisitClient(c)
				if err != nil {
					return err
				}
				live, _, err := v.events(c, "?live=1")
				if err != nil {
					return err
				}
				var last *event.VisitEvent
				for _, e := range live {
					if e.GetPriorTaken() != nil {
						continue // written by the console by itself
					}
					if last == nil || e.RecordedUnixNs >= last.RecordedUnixNs {
						last = e
					}
				}
				if last == nil {
					return fmt.Errorf("bay %s has no event to take back", v.bay)
				}
				void.Event = last.Id
			}
			ev.Body = &event.VisitEvent_Voided{Voided: void}
			return nil
		})
	c.Args = cobra.MaximumNArgs(1)
	c.Flags().StringVar(&reason, "reason", "", "why")
	return c
}
