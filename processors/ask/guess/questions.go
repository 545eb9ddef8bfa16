package guess

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"fairlead/ingest/bay/sample"
)

// Until says what is taken for true while the question is open.
func (q Question) Until() string {
	at := slices.Index(q.Options, q.Assumed)
	switch {
	case q.Assumed == NoReading, q.Key == "names", at < 0:
		return "the columns in question are left out, or taken as the draft has them"
	case at < len(q.Words):
		return q.Words[at]
	}
	return q.Assumed
}

// Answers are what is known beside the files, by the keys of questions.
type Answers map[string]string

// ParseAnswers reads KEY=VALUE.
func ParseAnswers(list []string) (Answers, error) {
	given := Answers{}
	for _, a := range list {
		key, value, ok := strings.Cut(a, "=")
		if !ok {
			return nil, fmt.Errorf("--answer %q: write KEY=VALUE, as the questions name them", a)
		}
		given[key] = value
	}
	return given, nil
}

// UnknownAnswerError is an answer by a word that its question does not know.
type UnknownAnswerError struct {
	Key, Value string
	Options    []string
}

func (e *UnknownAnswerError) Error() string {
	return fmt.Sprintf("--answer %s=%s: use one of %s", e.Key, e.Value, strings.Join(e.Options, ", "))
}

// WrongUse marks what another command line mends.
func (*UnknownAnswerError) WrongUse() {}

// DraftFiles drafts a map. ask, unless it is nil, settles one question after the
// other; each answer may change what is asked next.
func DraftFiles(files []sample.File, device string, given Answers, ask func(Question) error) (*Proposal, error) {
	for {
		t, err := sample.Read(files)
		if err != nil {
			return nil, fmt.Errorf("guess a field map: %w", err)
		}
		p, err := Draft(t, device, given)
		if err != nil {
			return nil, err
		}
		if ask != nil && len(p.Questions) > 0 {
			if err := ask(p.Questions[0]); err != nil {
				return nil, err
			}
			continue
		}
		for _, q := range p.Questions {
			if a, ok := given[q.Key]; ok {
				return nil, &UnknownAnswerError{q.Key, a, q.Options}
			}
		}
		return p, nil
	}
}

// In has a terminal answer a question: it takes the number of an option, or the
// option.
func (answers Answers) In(in *bufio.Reader, out io.Writer, q Question) error {
	fmt.Fprintln(out, q.Text)
	for i, w := range q.Words {
		fmt.Fprintf(out, "  %d  %s\n", i+1, w)
	}
	for {
		fmt.Fprint(out, "> ")
		line, err := in.ReadString('\n')
		line = strings.TrimSpace(line)
		if n, bad := strconv.Atoi(line); bad == nil && n >= 1 && n <= len(q.Options) {
			answers[q.Key] = q.Options[n-1]
			return nil
		}
		for _, o := range q.Options {
			if line == o {
				answers[q.Key] = o
				return nil
			}
		}
		if err != nil {
			return fmt.Errorf("no answer to %q: leave --ask out, or give --answer %s=%s", q.Key, q.Key, strings.Join(q.Options, "|"))
		}
		fmt.Fprintf(out, "give a number from 1 to %d\n", len(q.Options))
	}
}

// WriteQuestions says what the files could not tell, with what is assumed.
func (p *Proposal) WriteQuestions(w io.Writer) error {
	for _, q := range p.Questions {
		if _, err := fmt.Fprintf(w, "question %s: %s Assumed: %s. Answer with --answer %s=%s\n", q.Key, q.Text, q.Assumed, q.Key,
			strings.Join(q.Options, "|")); err != nil {
			return err
		}
	}
	_, err := fmt.Fprintf(w, "%d fields, %d questions, %d columns not used\n", len(p.Fields), len(p.Questions), len(p.Left))
	return err
}

// Account is a proposal for programs.
type Account struct {
	Map       string     `json:"map"`
	Questions []Question `json:"questions"`
	Unused    []string   `json:"unused_columns"`
}

// Account tells of the proposal.
func (p *Proposal) Account() Account { return Account{p.Map, p.Questions, p.Left} }
