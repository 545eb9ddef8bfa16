package event

import (
	"encoding/base64"
	"fmt"
	"regexp"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"
)

// What people wrote of a person stands sealed in all that is stored: log, journals,
// copies, rows. In the place of the text is sealed1.KEY.BOX~, with the name of a
// key that the hub keeps, and what only this key opens. One text under one key
// gives one box, so that facts stay the same facts and equal words equal words.
const sealedMark = "sealed1."

var sealedRule = regexp.MustCompile(`sealed1\.([a-z2-7]{16})\.([A-Za-z0-9_-]{22,})~`)

// Unreadable stands for a text whose key is gone.
const Unreadable = "(no longer readable)"

// SealedText writes what stands in the place of a text.
func SealedText(key string, box []byte) string {
	return sealedMark + key + "." + base64.RawURLEncoding.EncodeToString(box) + "~"
}

// IsSealed says whether a text is one sealed text and nothing beside it.
func IsSealed(text string) bool {
	at := sealedRule.FindStringIndex(text)
	return at != nil && at[0] == 0 && at[1] == len(text)
}

// HoldsSealed says whether a sealed text stands anywhere in a text or a message.
func HoldsSealed[T string | []byte](text T) bool { return strings.Contains(string(text), sealedMark) }

// Unseal puts what open says in the place of each sealed text. It may stand in
// another text, such as a sentence that names a build, or a whole JSON document.
func Unseal(text string, open func(key string, box []byte) string) string {
	if !HoldsSealed(text) {
		return text
	}
	return sealedRule.ReplaceAllStringFunc(text, func(one string) string {
		part := sealedRule.FindStringSubmatch(one)
		box, err := base64.RawURLEncoding.DecodeString(part[2])
		if err != nil {
			return Unreadable
		}
		return open(part[1], box)
	})
}

// plainFields are the texts of a visit event that say nothing of a person: ids,
// words of the program, parts of clubs. Every other is a free text, those of
// fields that nobody decided on included.
var plainFields = func() map[protoreflect.FullName]bool {
	out := map[protoreflect.FullName]bool{}
	for message, fields := range map[string]string{
		"SessionOpened": "player category fitter", "SessionCorrected": "player bay", "SessionErased": "player",
		"SettingChanged": "place surface ball_model ball_class", "TrialStarted": "trial", "Choice": "offered", "BuildAmended": "trial",
		"HitterChanged": "hitter", "FeelNoted": "trial", "ShotsMoved": "trial", "VerdictGiven": "trial baseline",
		"Promise": "outcome", "Prior": "outcome answer office", "PriorTaken": "pair", "RunWander": "outcome",
		"HitChecked": "verdict trial", "ClockMet": "boot",
		"Voided": "event", "OrderPlaced": "order verdict", "OrderedClub": "name category metal", "OrderMoved": "order holder",
		"ClubBuilt": "order club", "BagClub": "name category", "Build": "club_id", "Spec": "text measured_on",
		"CataloguePart": "code category club metal currency", "OrderedPart": "code currency club", "StockCounted": "part order",
		"TestClubPlaced": "club_id category club bay parts", "OrderMarked": "order",
		"PlayerJoined": "join", "BayChecked": "trial device club_id ball", "CheckedField": "field",
	} {
		for field := range strings.FieldsSeq(fields) {
			out[protoreflect.FullName("fairlead.event.v1."+message+"."+field)] = true
		}
	}
	return out
}()

// Texts puts what is said of it in the place of each free text of an event: what
// people said, wrote, or called a build. A build's name that was made of its parts
// is none. The event is changed.
func Texts(ev *VisitEvent, say func(text string) string) {
	m := ev.ProtoReflect()
	if body := m.WhichOneof(m.Descriptor().Oneofs().ByName("body")); body != nil {
		texts(m.Mutable(body).Message(), say)
	}
}

// InClear counts the free texts of an event that are not sealed.
func InClear(ev *VisitEvent) (n int) {
	Texts(ev, func(text string) string {
		if text != "" && text != Unreadable && !IsSealed(text) {
			n++
		}
		return text
	})
	return n
}

// Plain is what a build is called where nobody's words are shown: its name, but of
// one that a person gave and that stands sealed the parts that tell clubs apart.
func (b *Build) Plain() string {
	if !IsSealed(b.GetName()) {
		return b.GetName()
	}
	var parts []string
	for _, f := range []BuildField{BuildField_BUILD_HEAD_MODEL, BuildField_BUILD_SHAFT_MODEL, BuildField_BUILD_FLEX} {
		if s := b.Spec(f); s != nil {
			parts = append(parts, s.Text)
		}
	}
	if loft, ok := b.Number(BuildField_BUILD_STATED_LOFT); ok {
		parts = append(parts, fmt.Sprintf("%g°", loft))
	}
	return strings.Join(parts, ", ")
}

// OwnClub is what a player's own club is called that nobody named.
const OwnClub = "own club"

func texts(m protoreflect.Message, say func(string) string) {
	if b, ok := m.Interface().(*Build); ok {
		if b.Name != "" && b.Name != OwnClub && len(b.NamedAfter) == 0 {
			b.Name = say(b.Name)
		}
	}
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		switch {
		case f.IsMap(), f.FullName() == "fairlead.event.v1.Build.name", plainFields[f.FullName()]:
		case f.Kind() == protoreflect.MessageKind && f.IsList():
			for i := range v.List().Len() {
				texts(v.List().Get(i).Message(), say)
			}
		case f.Kind() == protoreflect.MessageKind:
			texts(v.Message(), say)
		case f.Kind() == protoreflect.StringKind && f.IsList():
			for i := range v.List().Len() {
				v.List().Set(i, protoreflect.ValueOfString(say(v.List().Get(i).String())))
			}
		case f.Kind() == protoreflect.StringKind:
			m.Set(f, protoreflect.ValueOfString(say(v.String())))
		}
		return true
	})
}
