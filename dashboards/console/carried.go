package console

import (
	"fairlead/ingest/contract/event"
	"fairlead/processors/visit"
)

// settled is the change of the bay's setting that opening a session brings: a
// target and a tee of another kind of club do not carry over (ten feet to the
// hole judge no wedge), and what the player was hitting, and hitting at, with this
// kind of club the last time does. Nil: nothing changes.
func (w *Writer) settled(bay string, ev *event.VisitEvent) *event.VisitEvent {
	o := ev.GetSessionOpened()
	tl := w.logs[bay].Timeline()
	if o == nil {
		return nil
	}
	now := tl.At(ev.EffectiveUnixNs).Setting()
	c := &event.SettingChanged{}
	before := ""
	for _, s := range tl.Sessions {
		if s.From <= ev.EffectiveUnixNs {
			before = s.Category
		}
	}
	if before != "" && before != o.Category {
		if now.TargetDistance.Known || now.TargetBearing.Known {
			c.Forgotten = append(c.Forgotten, event.SettingPart_SETTING_TARGET)
		}
		if now.TeeHeight.Known {
			c.Forgotten = append(c.Forgotten, event.SettingPart_SETTING_TEE)
		}
	}
	if last, at := w.lastOf(o.Player, o.Category); last != nil {
		var then visit.Setting
		for i := range at.Spans {
			ends := i+1 == len(at.Spans) || at.Spans[i+1].From > at.Spans[i].From // else the next one's setting was entered in it
			if at.Spans[i].Session == last && ends {
				then = at.Spans[i].Setting()
			}
		}
		if then.TargetDistance.Known && (len(c.Forgotten) > 0 || !now.TargetDistance.Known) {
			c.TargetDistanceM = &then.TargetDistance.Value
		}
		if now.BallModel == "" && now.BallClass == "" { // the bay's own ball, where it is known, is the one in hand
			c.BallModel, c.BallClass = then.BallModel, then.BallClass
		}
	}
	if len(c.Forgotten) == 0 && c.TargetDistanceM == nil && c.BallModel == "" && c.BallClass == "" {
		return nil
	}
	return &event.VisitEvent{
		Contract: event.Contract, Id: derived("set", ev.Id), Studio: ev.Studio, Bay: ev.Bay, Who: ev.Who, Boot: ev.Boot, MonoNs: ev.MonoNs,
		EffectiveUnixNs: ev.EffectiveUnixNs, RecordedUnixNs: ev.RecordedUnixNs,
		Body: &event.VisitEvent_SettingChanged{SettingChanged: c},
	}
}

// calm takes the wind out of a setting that moves indoors.
func (w *Writer) calm(bay string, ev *event.VisitEvent) {
	c := ev.GetSettingChanged()
	if c.GetPlace() != "indoor" {
		return
	}
	if now := w.logs[bay].Timeline().At(ev.EffectiveUnixNs).Setting(); now.WindSpeed.Known || now.WindToward.Known {
		c.Forgotten = append(c.Forgotten, event.SettingPart_SETTING_WIND)
	}
}
