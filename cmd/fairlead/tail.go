package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"

	"github.com/nats-io/nats.go/jetstream"
	"github.com/spf13/cobra"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"fairlead/ingest/contract/event"
	"fairlead/ingest/log/stream"
)

func newTailCommand() *cobra.Command {
	var bay string
	var all bool
	var limit int
	c := &cobra.Command{
		Use:   "tail",
		Short: "Show entries and visit events as they come, as JSON lines",
		Example: `  fairlead tail --config studio.yaml --bay north
  fairlead tail --config studio.yaml --all --limit 20`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			ctx, p, err := startProcess(c, "tail")
			if err != nil {
				return err
			}
			shots, visits := "shots."+p.config.Studio+".*", "visits."+p.config.Studio+".*"
			if bay != "" {
				if _, err := p.config.Bay(bay); err != nil {
					return &usageError{err}
				}
				shots, visits = p.config.Place(bay).ShotsSubject(), p.config.Place(bay).VisitsSubject()
			}
			nc, js, err := stream.Connect(toolsLink(p.config, "tail", p.log))
			if err != nil {
				return err
			}
			defer nc.Close()
			if err := waitConnected(ctx, nc, p.config.BrokerURL()); err != nil {
				return err
			}
			lines := make(chan []byte)
			ctx, cancel := context.WithCancel(ctx)
			defer cancel()
			for name, subject := range map[string]string{stream.Shots: shots, stream.Visits: visits} {
				policy := jetstream.DeliverNewPolicy
				if all {
					policy = jetstream.DeliverAllPolicy
				}
				consumer, err := js.OrderedConsumer(ctx, name, jetstream.OrderedConsumerConfig{FilterSubjects: []string{subject}, DeliverPolicy: policy})
				if err != nil {
					return fmt.Errorf("read %s: %w", name, err)
				}
				follow, err := consumer.Consume(func(m jetstream.Msg) {
					select {
					case lines <- decode(name, m):
					case <-ctx.Done():
					}
				})
				if err != nil {
					return fmt.Errorf("read %s: %w", name, err)
				}
				defer follow.Stop()
			}
			return copyLines(ctx, c.OutOrStdout(), lines, limit)
		},
	}
	withConfig(c)
	c.Flags().String("log", "warn", "least level to log")
	c.Flags().StringVar(&bay, "bay", "", "this bay only")
	c.Flags().BoolVar(&all, "all", false, "begin with what the log holds already")
	c.Flags().IntVar(&limit, "limit", 0, "end after this many lines (0: never)")
	return c
}

func copyLines(ctx context.Context, w io.Writer, lines <-chan []byte, limit int) error {
	for n := 0; limit == 0 || n < limit; n++ {
		select {
		case <-ctx.Done():
			return nil
		case line := <-lines:
			if _, err := fmt.Fprintf(w, "%s\n", line); err != nil {
				return err
			}
		}
	}
	return nil
}

// decode writes a message as one line: {"entry": …} or {"visit_event": …}, and
// what can't be read as {"unreadable": …}.
func decode(name string, m jetstream.Msg) []byte {
	var what proto.Message = &event.Entry{}
	key := "entry"
	if name == stream.Visits {
		what, key = &event.VisitEvent{}, "visit_event"
	}
	fields := map[string]any{"subject": m.Subject()}
	if err := proto.Unmarshal(m.Data(), what); err != nil {
		fields["unreadable"] = err.Error()
	} else if text, err := (protojson.MarshalOptions{UseProtoNames: true}).Marshal(what); err != nil {
		fields["unreadable"] = err.Error()
	} else {
		fields[key] = json.RawMessage(text)
		if e, ok := what.(*event.Entry); ok {
			fields["shot_id"] = e.ID().String()
			fields["line"] = string(e.Raw)
		} else {
			fields["kind"] = event.KindOf(what.(*event.VisitEvent))
		}
	}
	line, err := json.Marshal(fields)
	if err != nil {
		return []byte(`{"unreadable":"not JSON"}`)
	}
	return line
}
