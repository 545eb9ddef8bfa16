package visit

import (
	"fmt"

	"fairlead/ingest/contract/event"
)

var _ = kind(Kind{
	Name: "instruction_noted", Bears: OnSpan, Keeps: []string{"kind"}, needs: needsOpen,
	Acts: []Act{{
		Name: "instruct", Short: "Note what the player was told; it splits the trial",
		Example: "instruct --bay north --kind setup 'ball forward'",
		Fields: []Field{
			{Name: "words", Arg: 1, Rest: true, Help: "what the player was told"},
			{Name: "kind", Choices: words("INSTRUCTION_", event.InstructionKind_name), Default: "swing", Help: "setup or swing"},
		},
		read: func(r *Reader, ev *event.VisitEvent) {
			ev.Body = &event.VisitEvent_InstructionNoted{InstructionNoted: &event.InstructionNoted{
				Words: r.Text("words"), Kind: event.InstructionKind(r.choice("kind", "INSTRUCTION_", event.InstructionKind_value,
					int32(event.InstructionKind_INSTRUCTION_SWING)))}}
		},
	}},
	check: func(c *event.Check, ev *event.VisitEvent) {
		i := ev.GetInstructionNoted()
		c.Choice("instruction_kind", int32(i.GetKind()), event.InstructionKind_name)
		if i.GetWords() == "" {
			c.Add("words", "", "missing", "say what the player was told")
		}
		c.Text("words", i.GetWords(), event.LongestText)
	},
	step: func(f *folder, ev *event.VisitEvent) {
		if f.inSession(ev, "instruction noted") {
			f.instruct(ev, ev.GetInstructionNoted())
		}
	},
	says: func(_ *Teller, ev *event.VisitEvent) string {
		return fmt.Sprintf("instruction: “%s”", ev.GetInstructionNoted().GetWords())
	},
})

func (f *folder) instruct(ev *event.VisitEvent, i *event.InstructionNoted) {
	f.now.Instruction, f.now.InstructionKind = i.GetWords(), i.GetKind()
	f.now.Instructions++
	if t := f.now.Trial; t != nil {
		f.part(t, ev.EffectiveUnixNs, t.Parts[len(t.Parts)-1].Choice)
	}
}
