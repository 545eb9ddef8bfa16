package sink

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/nats-io/nats.go/jetstream"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

// consumerName has in it where the consumer begins: of one whose node of a cluster
// is away nothing else can be learnt.
func consumerName(place stream.Place, start uint64, now time.Time) string {
	return fmt.Sprintf("%s%s-%d", consumerPrefix(place), event.NewID(now), start)
}

func consumerPrefix(place stream.Place) string { return "tag-" + place.Studio + "-" + place.Bay + "-x" }

// askConsumer bounds how long a consumer is asked how far it came.
const askConsumer = 1500 * time.Millisecond

// predecessors are the consumers of a bay that there are, and the sequence up to
// which all was acknowledged to them. Each is asked by itself: a list of all waits
// four seconds for any of any bay whose node is away, longer than an answer may
// take, so that one of them kept all bays from their entries. What does not answer
// is known by its name.
func predecessors(ctx context.Context, s jetstream.Stream, place stream.Place) (floor uint64, old []string, err error) {
	var own []string
	names := s.ConsumerNames(ctx)
	for name := range names.Name() {
		if strings.HasPrefix(name, consumerPrefix(place)) {
			own = append(own, name)
		}
	}
	if err := names.Err(); err != nil {
		return 0, nil, fmt.Errorf("names: %w", err)
	}
	short, cancel := context.WithTimeout(ctx, askConsumer)
	defer cancel()
	var asked sync.WaitGroup
	infos, errs := make([]*jetstream.ConsumerInfo, len(own)), make([]error, len(own))
	for i, name := range own {
		asked.Go(func() {
			c, err := s.Consumer(short, name)
			if err == nil {
				infos[i] = c.CachedInfo()
			}
			errs[i] = err
		})
	}
	asked.Wait()
	for i, name := range own {
		start, named := startOf(strings.TrimPrefix(name, consumerPrefix(place)))
		switch err := errs[i]; {
		case err == nil && infos[i].Config.FilterSubject == place.ShotsSubject():
			floor = max(floor, infos[i].AckFloor.Stream)
			old = append(old, name)
		case err == nil, errors.Is(err, jetstream.ErrConsumerNotFound):
		case named && ctx.Err() == nil:
			floor = max(floor, start)
			old = append(old, name)
		default:
			return 0, nil, err
		}
	}
	return floor, old, nil
}

// startOf reads a name as consumerName makes it: what came before the consumer's
// beginning was acknowledged.
func startOf(rest string) (floor uint64, ok bool) {
	id, start, ok := strings.Cut(rest, "-")
	n, err := strconv.ParseUint(start, 10, 63)
	if !ok || err != nil || len(id) != len(event.NewID(time.Time{})) {
		return 0, false
	}
	return max(n, 1) - 1, true
}
