package answers

import (
	"context"
	"fmt"
	"sync"
	"time"
)

// Job is a question on its way to an answer.
type Job struct {
	ID       string    `json:"id"` // the question's hash: asking twice is one job
	Question Question  `json:"question"`
	Label    string    `json:"label"`
	State    string    `json:"state"` // waiting, running, done, failed
	Step     string    `json:"step"`
	Asked    time.Time `json:"asked"`
	Answer   string    `json:"answer,omitempty"` // id, once done
	Error    string    `json:"error,omitempty"`
}

// Finished says whether nothing more will happen to the job.
func (j Job) Finished() bool { return j.State == "done" || j.State == "failed" }

// Jobs asks questions one after the other: a fit takes all cores. Run must be
// running for jobs to move.
type Jobs struct {
	fleet *Fleet
	mu    sync.Mutex
	jobs  map[string]*Job
	order []string
	queue chan string
	watch map[string]chan struct{} // closed at each change
}

// The most jobs that wait, and that are remembered.
const (
	mostWaiting = 32
	mostJobs    = 200
)

// NewJobs makes an empty queue.
func NewJobs(f *Fleet) *Jobs {
	return &Jobs{fleet: f, jobs: map[string]*Job{}, queue: make(chan string, mostWaiting), watch: map[string]chan struct{}{}}
}

// Run works until ctx ends.
func (q *Jobs) Run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case id := <-q.queue:
			q.work(ctx, id)
		}
	}
}

// Ask queues a question and returns its job; one that waits or runs already is
// the same job.
func (q *Jobs) Ask(question Question) (Job, error) {
	if err := question.Check(); err != nil {
		return Job{}, err
	}
	id := question.Hash()
	q.mu.Lock()
	defer q.mu.Unlock()
	if j := q.jobs[id]; j != nil && !j.Finished() {
		return *j, nil
	}
	select {
	case q.queue <- id:
	default:
		return Job{}, fmt.Errorf("%d questions are waiting already: try again when some are answered", mostWaiting)
	}
	if q.jobs[id] == nil {
		q.order = append(q.order, id)
	}
	j := &Job{ID: id, Question: question, Label: question.Label(), State: "waiting", Asked: q.fleet.now().UTC()}
	q.jobs[id] = j
	for len(q.order) > mostJobs && q.jobs[q.order[0]].Finished() {
		delete(q.jobs, q.order[0])
		delete(q.watch, q.order[0])
		q.order = q.order[1:]
	}
	return *j, nil
}

// Get is a job and a channel that is closed at its next change.
func (q *Jobs) Get(id string) (Job, <-chan struct{}, bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	j := q.jobs[id]
	if j == nil {
		return Job{}, nil, false
	}
	if q.watch[id] == nil {
		q.watch[id] = make(chan struct{})
	}
	return *j, q.watch[id], true
}

// List is all jobs that are remembered, the newest first.
func (q *Jobs) List() []Job {
	q.mu.Lock()
	defer q.mu.Unlock()
	var out []Job
	for i := len(q.order) - 1; i >= 0; i-- {
		out = append(out, *q.jobs[q.order[i]])
	}
	return out
}

func (q *Jobs) change(id string, do func(*Job)) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if j := q.jobs[id]; j != nil {
		do(j)
	}
	if c := q.watch[id]; c != nil {
		close(c)
		delete(q.watch, id)
	}
}

func (q *Jobs) work(ctx context.Context, id string) {
	job, _, ok := q.Get(id)
	if !ok {
		return
	}
	q.change(id, func(j *Job) { j.State = "running" })
	s, err := q.fleet.Ask(ctx, job.Question, Asking{Progress: func(step string) { q.change(id, func(j *Job) { j.Step = step }) }})
	q.change(id, func(j *Job) {
		if err != nil {
			j.State, j.Error = "failed", err.Error()
			q.fleet.log.Error("a question to the fleet failed", "question", j.Label, "error", err)
			return
		}
		j.State, j.Answer, j.Step = "done", s.ID, ""
	})
}
