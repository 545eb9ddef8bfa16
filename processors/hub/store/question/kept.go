package question

// What is asked of answers that are kept.

// KeepAnswer inserts an answer.
func KeepAnswer() string { return text("answer_keep.sql", asked{}) }

// KeepFigures inserts figures of a snapshot as an answer.
func KeepFigures() string { return text("answer_keep_figures.sql", asked{}) }

// KeptFigures asks for figures that are kept.
func KeptFigures() string { return text("answer_figures.sql", asked{}) }

// NewestAnswer asks for the answer to a question of the newest data.
func NewestAnswer() string { return text("answer_newest.sql", asked{}) }

// AnswersBefore asks for answers of data that were stored before an instant.
func AnswersBefore() string { return text("answer_before.sql", asked{}) }

// Answer asks for the answer with an id.
func Answer() string { return text("answer_one.sql", asked{}) }

// Answers asks for the newest answer to each question.
func Answers(most int) string { return text("answer_lines.sql", asked{Most: most}) }

// Whom asks for the newest answers that say whom a step would help.
func Whom() string { return text("answer_whom.sql", asked{}) }

// Freeze keeps the snapshot of an answer from being swept.
func Freeze() string { return text("answer_freeze.sql", asked{}) }

// Frozen asks how many trials the frozen snapshot of an answer had; no row of one that
// is not frozen.
func Frozen() string { return text("answer_frozen.sql", asked{}) }

// Night asks for the mark of the last night that succeeded.
func Night() string { return text("answer_night.sql", asked{}) }

// Promises asks what verdicts promised whose delivered club was hit: mostly none, and
// then there is nothing to ask of Checks.
func Promises() string { return text("answer_promises.sql", asked{}) }

// Checks asks what is stored of the trials that those promises are held against.
func Checks() string { return text("answer_checks.sql", asked{}) }

// KeepPrior inserts an answer of the head office's.
func KeepPrior() string { return text("prior_keep.sql", asked{}) }

// PriorBefore asks for the head office's newest answer to a question (v, of model m)
// that was here before an instant (b, unix milliseconds).
func PriorBefore() string { return text("prior_before.sql", asked{}) }

// PriorOne asks for the head office's answer with an id.
func PriorOne() string { return text("prior_one.sql", asked{}) }

// PriorIDs asks which of the head office's answers are here.
func PriorIDs() string { return text("prior_ids.sql", asked{}) }

// OldPriors takes away answers to a question but one, received before an instant.
func OldPriors() string { return text("prior_old.sql", asked{}) }
