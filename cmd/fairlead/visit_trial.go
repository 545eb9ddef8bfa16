package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/proto"

	"fairlead/dashboards/console"
	"fairlead/ingest/contract/event"
	"fairlead/ingest/contract/unit"
)

// buildFlags name a build: another trial's, and what is different.
type buildFlags struct {
	set, measured []string
	name, club    string
	gamer, blank  bool
	from          string
}

func (b *buildFlags) register(c *cobra.Command) {
	f := c.Flags()
	f.StringArrayVar(&b.set, "set", nil, "a part as it is stated, PART=VALUE with unit, such as loft=31deg; PART=unknown takes it out")
	f.StringArrayVar(&b.measured, "measured", nil, "a part as it was measured on this very club")
	f.StringVar(&b.name, "name", "", "what the fitter calls it")
	f.StringVar(&b.club, "club", "", "id of the physical test club")
	f.BoolVar(&b.gamer, "gamer", false, "it is the player's own club")
	var parts strings.Builder
	parts.WriteString("\n\nParts of a build: ")
	for i, p := range event.BuildFields() {
		if i > 0 {
			parts.WriteString(", ")
		}
		parts.WriteString(p.Name)
		if !p.Text && unit.Stored(p.Quantity) != "" {
			parts.WriteString(" (" + unit.Stored(p.Quantity) + ")")
		}
	}
	c.Long = c.Short + "." + parts.String() + ".\nNumbers without a unit are in the one given; swing weight may be written D2."
}

// build changes base, which may be nil, by the flags.
func (b *buildFlags) build(base *event.Build) (*event.Build, error) {
	out := &event.Build{}
	if base != nil {
		out = proto.Clone(base).(*event.Build)
	}
	var changed []string
	for _, list := range []struct {
		specs    []string
		measured bool
	}{{b.set, false}, {b.measured, true}} {
		for _, s := range list.specs {
			part, value, ok := strings.Cut(s, "=")
			if !ok {
				return nil, fmt.Errorf("--set %q: write PART=VALUE, such as length=37.5in", s)
			}
			if err := console.SetSpec(out, strings.TrimSpace(part), value, list.measured); err != nil {
				return nil, err
			}
			changed = append(changed, strings.ReplaceAll(part, "_", " ")+" "+value)
		}
	}
	switch {
	case b.gamer:
		out.Gamer = true
	case len(changed) > 0 || b.name != "" && b.name != out.Name:
		out.Gamer = false // another club than the player's own
	}
	switch {
	case b.name != "":
		out.Name = b.name
	case base != nil && len(changed) > 0:
		out.Name = strings.Join(changed, ", ")
	case out.Name == "" && out.Gamer:
		out.Name = "own club"
	}
	if b.club != "" {
		out.ClubId = b.club
	}
	return out, nil
}

// lastBuild is the build of a trial, or, for an empty one, of the latest trial
// of the open session.
func lastBuild(events []*event.VisitEvent, trial string) (*event.Build, error) {
	var last *event.Build
	builds := map[string]*event.Build{}
	latest := ""
	for _, ev := range events {
		switch {
		case ev.GetSessionOpened() != nil && trial == "":
			last, latest = nil, ""
		case ev.GetTrialStarted() != nil:
			latest, last = ev.GetTrialStarted().Trial, ev.GetTrialStarted().Build
			builds[latest] = last
		case ev.GetBuildAmended() != nil:
			builds[ev.GetBuildAmended().Trial] = ev.GetBuildAmended().Build
			if ev.GetBuildAmended().Trial == latest {
				last = ev.GetBuildAmended().Build
			}
		}
	}
	if trial == "" {
		return last, nil
	}
	if b, ok := builds[trial]; ok {
		return b, nil
	}
	return nil, fmt.Errorf("--from %q: no trial of this id in the bay: `fairlead visit show` lists them", trial)
}

// base asks for the build to start from.
func (b *buildFlags) base(c *cobra.Command) (*event.Build, error) {
	if b.blank {
		return nil, nil
	}
	v, err := newVisitClient(c)
	if err != nil {
		return nil, err
	}
	events, _, err := v.events(c, "?live=1")
	if err != nil {
		return nil, err
	}
	return lastBuild(events, b.from)
}

func newVisitTrial() *cobra.Command {
	var b buildFlags
	var trial string
	c := visitEvent("trial", "Start a trial by naming what changed against the last build", "trial --bay north --set loft=31deg --set length=37.5in",
		func(c *cobra.Command, _ []string, ev *event.VisitEvent) error {
			base, err := b.base(c)
			if err != nil {
				return err
			}
			build, err := b.build(base)
			ev.Body = &event.VisitEvent_TrialStarted{TrialStarted: &event.TrialStarted{Trial: trial, Build: build}}
			return err
		})
	c.Args = cobra.NoArgs
	b.register(c)
	c.Flags().StringVar(&b.from, "from", "", "trial whose build to start from (default: the session's last)")
	c.Flags().BoolVar(&b.blank, "blank", false, "start from a build of which nothing is known")
	c.Flags().StringVar(&trial, "trial", "", "id of the trial; that of an earlier one goes on with it (default: a fresh one)")
	return c
}

func newVisitAmend() *cobra.Command {
	var b buildFlags
	c := visitEvent("amend TRIAL", "Correct what a trial's build is, for the whole trial", "amend --bay north t-0f3a --measured lie=62deg",
		func(c *cobra.Command, args []string, ev *event.VisitEvent) error {
			b.from = args[0]
			base, err := b.base(c)
			if err != nil {
				return err
			}
			gamer, name := base.GetGamer(), base.GetName()
			build, err := b.build(base)
			if err != nil {
				return err
			}
			if !c.Flags().Changed("gamer") {
				build.Gamer = gamer // a correction does not make it another club
			}
			if b.name == "" {
				build.Name = name
			}
			ev.Body = &event.VisitEvent_BuildAmended{BuildAmended: &event.BuildAmended{Trial: args[0], Build: build}}
			return nil
		})
	c.Args = cobra.ExactArgs(1)
	b.register(c)
	return c
}

func newVisitHitter() *cobra.Command {
	h := &event.HitterChanged{}
	var hand string
	c := visitEvent("hitter player|fitter|guest", "Say who swings from here on; only the player's shots count", "hitter --bay north fitter",
		func(_ *cobra.Command, args []string, ev *event.VisitEvent) error {
			kind, err := wordOf("hitter", args[0], "HITTER_", event.HitterKind_value)
			if err != nil {
				return err
			}
			side, err := wordOf("hand", hand, "HAND_", event.Hand_value)
			h.Kind, h.Hand = event.HitterKind(kind), event.Hand(side)
			ev.Body = &event.VisitEvent_HitterChanged{HitterChanged: h}
			return err
		})
	c.Args = cobra.ExactArgs(1)
	c.Flags().StringVar(&h.Hitter, "hitter", "", "pseudonym of the fitter or guest")
	c.Flags().StringVar(&hand, "hand", "unknown", "right, left; unknown: the session's")
	return c
}

func newVisitInstruct() *cobra.Command {
	var kind string
	c := visitEvent("instruct WORDS", "Note what the player was told; it splits the trial", "instruct --bay north --kind setup 'ball forward'",
		func(_ *cobra.Command, args []string, ev *event.VisitEvent) error {
			k, err := wordOf("kind", kind, "INSTRUCTION_", event.InstructionKind_value)
			ev.Body = &event.VisitEvent_InstructionNoted{InstructionNoted: &event.InstructionNoted{Words: strings.Join(args, " "), Kind: event.InstructionKind(k)}}
			return err
		})
	c.Args = cobra.MinimumNArgs(1)
	c.Flags().StringVar(&kind, "kind", "swing", "setup or swing")
	return c
}

func newVisitIntent() *cobra.Command {
	c := visitEvent("intent normal|full-effort|shaping", "Say with what intent is hit from here on", "intent --bay north full-effort",
		func(_ *cobra.Command, args []string, ev *event.VisitEvent) error {
			i, err := wordOf("intent", args[0], "INTENT_", event.Intent_value)
			ev.Body = &event.VisitEvent_IntentChanged{IntentChanged: &event.IntentChanged{Intent: event.Intent(i)}}
			return err
		})
	c.Args = cobra.ExactArgs(1)
	return c
}

func newVisitFeel() *cobra.Command {
	f := &event.FeelNoted{}
	c := visitEvent("feel TRIAL [WORDS]", "Note what the player felt of a trial", "feel --bay north t-0f3a --liking 1 'lighter'",
		func(_ *cobra.Command, args []string, ev *event.VisitEvent) error {
			f.Trial, f.Words = args[0], strings.Join(args[1:], " ")
			ev.Body = &event.VisitEvent_FeelNoted{FeelNoted: f}
			return nil
		})
	c.Args = cobra.MinimumNArgs(1)
	c.Flags().Int32Var(&f.Liking, "liking", 0, "-2 dislikes much to 2 likes much")
	return c
}

func newVisitVerdict() *cobra.Command {
	g := &event.VerdictGiven{}
	c := visitEvent("verdict "+strings.Join(wordsOf("VERDICT_", event.VerdictKind_value)[1:], "|"), "Say what was decided", "verdict --bay north build --trial t-0f3a --baseline t-0a11",
		func(c *cobra.Command, args []string, ev *event.VisitEvent) error {
			kind, err := wordOf("verdict", args[0], "VERDICT_", event.VerdictKind_value)
			if err != nil {
				return err
			}
			g.Kind = event.VerdictKind(kind)
			v, err := newVisitClient(c)
			if err != nil {
				return err
			}
			if g.Trial != "" {
				events, _, err := v.events(c, "?live=1")
				if err != nil {
					return err
				}
				if g.Build, err = lastBuild(events, g.Trial); err != nil {
					return fmt.Errorf("--trial: %w", err)
				}
				state, _, err := v.state(c)
				if err != nil {
					return err
				}
				console.Promise(state, g)
			}
			ev.Body = &event.VisitEvent_VerdictGiven{VerdictGiven: g}
			return nil
		})
	c.Args = cobra.ExactArgs(1)
	c.Flags().StringVar(&g.Trial, "trial", "", "the chosen trial; what is to be expected of its build now is kept with the verdict")
	c.Flags().StringVar(&g.Baseline, "baseline", "", "the trial it was compared with (default: the incumbent's)")
	c.Flags().StringVar(&g.Words, "words", "", "in words; needed for setup and refer")
	return c
}

func newVisitCheck() *cobra.Command {
	h := &event.HitChecked{}
	var b buildFlags
	c := visitEvent("check VERDICT TRIAL", "Say that a delivered club was hit in a trial and measured", "check --bay north 01b2 t-0f3a --measured loft=31.2deg",
		func(c *cobra.Command, args []string, ev *event.VisitEvent) error {
			h.Verdict, h.Trial = args[0], args[1]
			b.from = args[1]
			base, err := b.base(c)
			if err != nil {
				return err
			}
			if h.Build, err = b.build(base); err != nil {
				return err
			}
			ev.Body = &event.VisitEvent_HitChecked{HitChecked: h}
			return nil
		})
	c.Args = cobra.ExactArgs(2)
	b.register(c)
	c.Flags().StringVar(&h.Words, "words", "", "in words")
	return c
}
