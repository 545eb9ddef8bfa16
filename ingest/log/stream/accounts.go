package stream

import (
	"fmt"
	"slices"
	"strings"
)

// Each identity has an account of its own in the broker: a room of subjects
// that nothing enters or leaves but by the doors listed here. A request goes
// through a door under its subject, and the broker puts a reply subject of its
// own in place of the one that it carried: whoever answers, the hub or
// JetStream itself, answers into the asker's own account, whatever the asker
// wrote there. Only the process and the log stand in the hub's account.

// HubAccount is the account of the log and of the process.
const HubAccount = "HUB"

// account is what a credential's key belongs to. Names hold no underscore, so
// two places never share one.
func (g Grant) account() string {
	switch g.Role {
	case RoleBay:
		return "BAY_" + g.Studio + "_" + g.Bay
	case RoleConsole:
		return "CONSOLE_" + g.Studio
	case RoleTools:
		return "TOOLS_" + g.Studio
	case RoleStudio:
		return "STUDIO_" + g.Studio
	}
	return HubAccount
}

// inbox is the prefix of the reply subjects that a role's own connections use.
func (r Role) inbox() string { return "_INBOX_" + string(r) }

// doors are what an account asks of the hub's, hears from it, and answers to.
type doors struct {
	ask    []string // requests and messages into the hub's account, one answer each
	follow []string // requests with many answers
	hear   []string // what the hub's account says
	answer []string // requests that are answered here
	say    []string // what those beside the hub hear straight from here: what came in by a door does not go out by another
	serve  []string // accounts beside the hub's that may ask for the heartbeat, and hear it
	desk   []string // requests of the studio's console alone
}

// doors lists the way in and out of a grant's account.
func (g Grant) doors() doors {
	switch g.Role {
	case RoleBay:
		p := g.place()
		return doors{
			ask:    []string{p.ShotsSubject(), p.HealthSubject(), p.MarksSubject(), ClockSubject},
			answer: []string{p.RepairSubject(), p.AskSubject()},
			say:    []string{p.HealthSubject()},
			serve:  []string{Grant{Role: RoleTools, Studio: g.Studio}.account(), Grant{Role: RoleConsole, Studio: g.Studio}.account()},
			desk:   []string{p.DeskSubject()},
		}
	case RoleConsole:
		all, own := Place{g.Studio, "*"}, Place{g.Studio, ConsoleBay}
		return doors{
			ask:    []string{all.VisitsSubject(), own.HealthSubject(), own.MarksSubject(), ClockSubject, all.StateSubject()},
			follow: []string{api("DIRECT.GET." + Visits)},
			hear:   []string{all.LiveSubject("state")},
			answer: []string{own.RepairSubject(), own.AskSubject()},
			say:    []string{own.HealthSubject()},
			serve:  []string{Grant{Role: RoleTools, Studio: g.Studio}.account()},
		}
	case RoleTools:
		all := Place{g.Studio, "*"}
		d := doors{
			ask:  []string{ClockSubject, all.StateSubject()},
			hear: []string{"live." + g.Studio + ".>"},
		}
		for _, s := range []string{Shots, Visits} {
			d.ask = append(d.ask, api("STREAM.INFO."+s), api("STREAM.MSG.GET."+s),
				api("CONSUMER.CREATE."+s+".>"), api("CONSUMER.INFO."+s+".>"), api("CONSUMER.DELETE."+s+".>"))
			d.follow = append(d.follow, api("CONSUMER.MSG.NEXT."+s+".>"))
		}
		d.follow = append(d.follow, api("DIRECT.GET."+Visits), api("DIRECT.GET."+Visits+".>"))
		return d
	case RoleStudio:
		all := Place{g.Studio, "*"}
		return doors{
			ask:    []string{all.ShotsSubject(), all.VisitsSubject(), all.HealthSubject(), all.MarksSubject(), GroupSubject(g.Studio, "*")},
			answer: []string{all.RepairSubject(), all.AskSubject()},
		}
	}
	return doors{}
}

func api(call string) string { return "$JS.API." + call }

// ToolsAPI is where an account beside the hub's finds the log's interface: under
// its usual name the broker answers there that the account has no log.
const ToolsAPI = "LOG.API"

// local is a subject of the hub's account as another account knows it.
func local(subject string) string {
	if call, ok := strings.CutPrefix(subject, api("")); ok {
		return ToolsAPI + "." + call
	}
	return subject
}

func locals(subjects []string) []string {
	out := make([]string, len(subjects))
	for i, s := range subjects {
		out[i] = local(s)
	}
	return out
}

// permissions are what the keys of a grant may publish and hear within their
// account; answers says that they may answer what they are asked.
func (g Grant) permissions() (publish, subscribe []string, answers bool) {
	d := g.doors()
	switch g.Role {
	case RoleProcess:
		publish = []string{"live.>", "repair.*.*", "ask.*.*", ClockSubject, "_R_.>", "_INBOX.>", "$JS.ACK.>",
			"$KV." + Leases + ".>", api("DIRECT.GET.KV_" + Leases + ".>"),
			api("DIRECT.GET." + Visits), api("DIRECT.GET." + Visits + ".>"), api("INFO"), api("STREAM.INFO.*"), api("STREAM.NAMES"),
			api("STREAM.LIST")}
		for _, s := range []string{Shots, Visits, "KV_" + Leases, "KV_" + People} {
			publish = append(publish, api("STREAM.CREATE."+s), api("STREAM.UPDATE."+s), api("STREAM.MSG.GET."+s))
		}
		for _, s := range []string{Shots, Visits} {
			for _, call := range []string{"CONSUMER.LIST." + s, "CONSUMER.NAMES." + s, "CONSUMER.CREATE." + s + ".>",
				"CONSUMER.INFO." + s + ".>", "CONSUMER.DELETE." + s + ".>", "CONSUMER.MSG.NEXT." + s + ".>"} {
				publish = append(publish, api(call))
			}
		}
		return publish, []string{g.Role.inbox() + ".>", "health.*.*", "hub.>"}, false
	case RoleHub:
		// As before there were others, less what empties or takes away the log.
		return nil, nil, false
	case RoleBay:
		return slices.Concat(d.ask, d.follow), slices.Concat(d.answer, d.desk, []string{g.place().InboxPrefix() + ".>"}), true
	}
	publish = locals(slices.Concat(d.ask, d.follow))
	// In an account there is nothing to hear but what comes in by its doors.
	d.hear = append(d.hear, "health.*.*")
	if g.Role == RoleTools {
		publish = append(publish, Place{g.Studio, "*"}.AskSubject())
	}
	if g.Role == RoleConsole {
		publish = append(publish, Place{g.Studio, "*"}.DeskSubject())
	}
	return publish, slices.Concat(d.hear, d.answer, []string{g.Role.inbox() + ".>"}), len(d.answer) > 0
}

// forbidden are the calls of the log's interface that nothing of ours makes,
// and that would empty, replace, move or take away a stream, or show it whole.
var forbidden = []string{
	api("STREAM.DELETE.*"), api("STREAM.PURGE.*"), api("STREAM.MSG.DELETE.*"), api("STREAM.SNAPSHOT.*"), api("STREAM.RESTORE.*"),
	api("STREAM.PEER.REMOVE.*"), api("STREAM.LEADER.STEPDOWN.*"), api("CONSUMER.LEADER.STEPDOWN.*.*"),
	api("META.>"), api("SERVER.>"), api("ACCOUNT.>"),
	api("CONSUMER.PAUSE.*.*"), api("CONSUMER.RESET.*.*"),
}

// Accounts writes the accounts of a keyring as a NATS server of one's own reads
// them. There the process may bring streams up to date, for nobody else does; what
// empties or takes them away is closed by the system's account.
func Accounts(grants []Grant) string {
	var closed strings.Builder
	for _, call := range forbidden {
		fmt.Fprintf(&closed, "      %q: %q\n", call, refusedAs(call))
	}
	return accounts(grants, fmt.Sprintf("  \"$SYS\": {\n    mappings: {\n%s    }\n  }\n", &closed))
}

// refusedAs is the subject that a closed call goes to instead, where nobody listens.
func refusedAs(call string) string {
	if strings.HasSuffix(call, ".>") {
		return "refused.>"
	}
	return "refused"
}

// accounts writes the accounts of a keyring, and more beside them.
func accounts(grants []Grant, more string) string {
	byAccount := map[string][]Grant{HubAccount: nil}
	for _, g := range grants {
		byAccount[g.account()] = append(byAccount[g.account()], g)
	}
	names := make([]string, 0, len(byAccount))
	for name := range byAccount {
		names = append(names, name)
	}
	slices.Sort(names)
	var hub hubDoors
	var rest strings.Builder
	for _, name := range names {
		if name == HubAccount {
			continue
		}
		d := byAccount[name][0].doors()
		hub.add(name, d)
		fmt.Fprintf(&rest, "  %q: {\n    users: [\n%s    ]\n", name, users(byAccount[name]))
		var imports, exports []string
		for _, s := range slices.Concat(d.ask, d.follow) {
			as := ""
			if here := local(s); here != s {
				as = fmt.Sprintf(", to: %q", here)
			}
			imports = append(imports, fmt.Sprintf("{service: {account: %q, subject: %q}%s}", HubAccount, s, as))
		}
		for _, s := range d.hear {
			imports = append(imports, fmt.Sprintf("{stream: {account: %q, subject: %q}}", HubAccount, s))
		}
		imports = append(imports, beside(byAccount, name)...)
		for _, s := range d.say {
			if who := present(byAccount, d.serve); len(who) > 0 {
				exports = append(exports, fmt.Sprintf("{stream: %q, accounts: [%s]}", s, quoted(who)))
			}
		}
		for _, s := range d.answer {
			who := []string{HubAccount}
			if s == byAccount[name][0].askedAt() {
				who = append(who, present(byAccount, d.serve)...)
			}
			exports = append(exports, fmt.Sprintf("{service: %q, accounts: [%s]}", s, quoted(who)))
		}
		for _, s := range d.desk {
			if who := present(byAccount, []string{byAccount[name][0].console()}); len(who) > 0 {
				exports = append(exports, fmt.Sprintf("{service: %q, accounts: [%s]}", s, quoted(who)))
			}
		}
		rest.WriteString(list("imports", imports) + list("exports", exports) + "  }\n")
	}
	return fmt.Sprintf("accounts: {\n  %q: {\n    jetstream: enabled\n    users: [\n%s    ]\n%s%s  }\n%s%s}\n",
		HubAccount, users(byAccount[HubAccount]), list("imports", hub.imports), list("exports", hub.exports()), rest.String(), more)
}

// beside are the imports of an account from those beside the hub's: the heartbeats
// of its studio, as they are said and, for tools, as they are asked for.
func beside(byAccount map[string][]Grant, account string) (imports []string) {
	for name, grants := range byAccount {
		if len(grants) == 0 {
			continue
		}
		d := grants[0].doors()
		if !slices.Contains(d.serve, account) {
			continue
		}
		for _, s := range d.say {
			imports = append(imports, fmt.Sprintf("{stream: {account: %q, subject: %q}}", name, s))
		}
		if byAccount[account][0].Role == RoleTools {
			imports = append(imports, fmt.Sprintf("{service: {account: %q, subject: %q}}", name, grants[0].askedAt()))
		}
		for _, s := range d.desk {
			if account == grants[0].console() {
				imports = append(imports, fmt.Sprintf("{service: {account: %q, subject: %q}}", name, s))
			}
		}
	}
	slices.Sort(imports)
	return imports
}

// hubDoors gathers the hub's side of all doors.
type hubDoors struct {
	imports []string
	who     map[string][]string // an export -> the accounts that may use it
}

func (h *hubDoors) add(name string, d doors) {
	if h.who == nil {
		h.who = map[string][]string{}
	}
	for _, s := range d.ask {
		key := fmt.Sprintf("service: %q", s)
		h.who[key] = append(h.who[key], name)
	}
	for _, s := range d.follow {
		key := fmt.Sprintf("service: %q, response_type: stream", s)
		h.who[key] = append(h.who[key], name)
	}
	for _, s := range d.hear {
		key := fmt.Sprintf("stream: %q", s)
		h.who[key] = append(h.who[key], name)
	}
	for _, s := range d.answer {
		h.imports = append(h.imports, fmt.Sprintf("{service: {account: %q, subject: %q}}", name, s))
	}
}

func (h *hubDoors) exports() (out []string) {
	for key, names := range h.who {
		out = append(out, fmt.Sprintf("{%s, accounts: [%s]}", key, quoted(names)))
	}
	slices.Sort(out)
	return out
}

// askedAt is where a bay or a console is asked for its heartbeat.
func (g Grant) askedAt() string {
	if g.Role == RoleConsole {
		return Place{g.Studio, ConsoleBay}.AskSubject()
	}
	return g.place().AskSubject()
}

// console is the account of the studio's console.
func (g Grant) console() string { return Grant{Role: RoleConsole, Studio: g.Studio}.account() }

func present(byAccount map[string][]Grant, names []string) (out []string) {
	for _, n := range names {
		if _, ok := byAccount[n]; ok {
			out = append(out, n)
		}
	}
	return out
}

func users(grants []Grant) string {
	var b strings.Builder
	for _, g := range grants {
		publish, subscribe, answers := g.permissions()
		fmt.Fprintf(&b, "      # %s\n      {nkey: %s", g.Name, g.Key)
		if g.Role != RoleHub {
			fmt.Fprintf(&b, "\n       permissions: {publish: {allow: [%s]}, subscribe: {allow: [%s]}", quoted(publish), quoted(subscribe))
			if answers {
				b.WriteString(", allow_responses: {max: 1}")
			}
			b.WriteString("}")
		} else {
			fmt.Fprintf(&b, "\n       permissions: {publish: {deny: [%s]}}", quoted(forbidden))
		}
		b.WriteString("}\n")
	}
	return b.String()
}

func list(key string, items []string) string {
	if len(items) == 0 {
		return ""
	}
	return fmt.Sprintf("    %s: [\n      %s\n    ]\n", key, strings.Join(items, "\n      "))
}

func quoted(names []string) string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = fmt.Sprintf("%q", n)
	}
	return strings.Join(out, ", ")
}
