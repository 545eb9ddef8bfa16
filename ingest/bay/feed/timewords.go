package feed

import (
	"strings"
	"time"
	"unicode"
)

// ParseTime reads a time as time.ParseInLocation does, and months, days of the week
// and halves of the day in the languages that devices write too: 3. März, 2:10 p. m.
func ParseTime(layout, text string, zone *time.Location) (time.Time, error) {
	at, err := time.ParseInLocation(layout, text, zone)
	if err == nil || strings.IndexFunc(text, unicode.IsLetter) < 0 || !strings.ContainsAny(layout, "JMP") && !strings.Contains(layout, "pm") {
		return at, err
	}
	english := inEnglish(text, strings.Contains(layout, "January"), strings.Contains(layout, "Monday"))
	if english == text {
		return at, err
	}
	if other, bad := time.ParseInLocation(layout, english, zone); bad == nil {
		return other, nil
	}
	return at, err
}

var halves = strings.NewReplacer("a. m.", "AM", "p. m.", "PM", "a.m.", "AM", "p.m.", "PM", "A. M.", "AM", "P. M.", "PM", "A.M.", "AM",
	"P.M.", "PM",
	"a.\u00a0m.", "AM", "p.\u00a0m.", "PM", "a.\u202fm.", "AM", "p.\u202fm.", "PM", "午前", "AM", "午後", "PM", "오전", "AM", "오후", "PM",
	"上午", "AM", "下午", "PM")

// inEnglish writes the words of a time in English: whole, or by three letters.
func inEnglish(text string, wholeMonth, wholeDay bool) string {
	text = halves.Replace(text)
	var out strings.Builder
	for rest := text; rest != ""; {
		end := strings.IndexFunc(rest, func(r rune) bool { return !unicode.IsLetter(r) })
		if end < 0 {
			end = len(rest)
		}
		if end == 0 {
			at := strings.IndexFunc(rest, unicode.IsLetter)
			if at < 0 {
				at = len(rest)
			}
			out.WriteString(rest[:at])
			rest = rest[at:]
			continue
		}
		word := rest[:end]
		rest = rest[end:]
		name := strings.ToLower(word)
		month, day := monthWords[name], dayWords[name]
		switch {
		case month != 0 && wholeMonth:
			out.WriteString(month.String())
		case month != 0:
			out.WriteString(month.String()[:3])
		case day != 0 && wholeDay:
			out.WriteString((day - 1).String())
		case day != 0:
			out.WriteString((day - 1).String()[:3])
		default:
			out.WriteString(word)
			continue
		}
		rest = strings.TrimPrefix(rest, ".") // of a shortened word
	}
	return out.String()
}

// monthWords and dayWords are the words of twelve languages, whole and shortened;
// a day counts one more than time.Weekday, so that none is 0.
var monthWords, dayWords = func() (map[string]time.Month, map[string]time.Weekday) {
	months, days := map[string]time.Month{}, map[string]time.Weekday{}
	for _, list := range []string{
		"januar februar märz april mai juni juli august september oktober november dezember",
		"jan feb mär apr mai jun jul aug sep okt nov dez", "jänner feber mrz april mai juni juli aug sept okt nov dez",
		"janvier février mars avril mai juin juillet août septembre octobre novembre décembre",
		"janv févr mars avr mai juin juil août sept oct nov déc",
		"enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre diciembre",
		"ene feb mar abr may jun jul ago sept oct nov dic",
		"gennaio febbraio marzo aprile maggio giugno luglio agosto settembre ottobre novembre dicembre",
		"gen feb mar apr mag giu lug ago set ott nov dic",
		"janeiro fevereiro março abril maio junho julho agosto setembro outubro novembro dezembro",
		"jan fev mar abr mai jun jul ago set out nov dez",
		"januari februari maart april mei juni juli augustus september oktober november december",
		"jan feb mrt apr mei jun jul aug sep okt nov dec",
		"januari februari mars april maj juni juli augusti september oktober november december",
		"januar februar marts april maj juni juli august september oktober november december",
		"tammikuuta helmikuuta maaliskuuta huhtikuuta toukokuuta kesäkuuta heinäkuuta elokuuta syyskuuta lokakuuta marraskuuta joulukuuta",
		"stycznia lutego marca kwietnia maja czerwca lipca sierpnia września października listopada grudnia",
		"ocak şubat mart nisan mayıs haziran temmuz ağustos eylül ekim kasım aralık",
	} {
		for i, word := range strings.Fields(list) {
			months[word] = time.Month(i + 1)
		}
	}
	for _, list := range []string{
		"sonntag montag dienstag mittwoch donnerstag freitag samstag", "so mo di mi do fr sa",
		"dimanche lundi mardi mercredi jeudi vendredi samedi", "dim lun mar mer jeu ven sam",
		"domingo lunes martes miércoles jueves viernes sábado", "dom lun mar mié jue vie sáb",
		"domenica lunedì martedì mercoledì giovedì venerdì sabato", "dom lun mar mer gio ven sab",
		"zondag maandag dinsdag woensdag donderdag vrijdag zaterdag", "söndag måndag tisdag onsdag torsdag fredag lördag",
	} {
		for i, word := range strings.Fields(list) {
			if months[word] == 0 { // mar is March
				days[word] = time.Weekday(i + 1)
			}
		}
	}
	return months, days
}()
