package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"
)

// exitError carries the exit code a command wants; err may be nil when the
// command has already printed what there was to say.
type exitError struct {
	code int
	err  error
}

func (e *exitError) Error() string {
	if e.err == nil {
		return fmt.Sprintf("exit %d", e.code)
	}
	return e.err.Error()
}

func (e *exitError) Unwrap() error { return e.err }

// exitIf is exit code 1 where what was told is bad; an error of telling it goes before.
func exitIf(bad bool, err error) error {
	if err != nil || !bad {
		return err
	}
	return &exitError{1, nil}
}

// run executes one command line and returns its exit code: 0 for success, 2
// for wrong use, what an exitError says, 1 for any other failure.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	root := newRoot()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := root.ExecuteContext(ctx)
	if err == nil {
		return 0
	}
	var exit *exitError
	if errors.As(err, &exit) {
		if exit.err != nil {
			fmt.Fprintln(stderr, "fairlead:", exit.err)
		}
		return exit.code
	}
	var mended wrongUse
	if errors.As(err, &mended) {
		err = use(err)
	}
	fmt.Fprintln(stderr, "fairlead:", err)
	if errors.As(err, new(*usageError)) {
		return 2
	}
	return 1
}

// wrongUse is an error of any room that another command line mends.
type wrongUse interface {
	error
	WrongUse()
}

// usageError marks a command line that cannot be run as written.
type usageError struct{ err error }

func (e *usageError) Error() string { return e.err.Error() + " (see --help)" }
func (e *usageError) Unwrap() error { return e.err }

// newRoot builds the command tree. A new command gets a file of its own with
// its constructor, and its name in this list.
func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:           "fairlead",
		Short:         "Keep every shot of a fitting, know which build hit it, and say how sure one may be",
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          unknown("command"),
	}
	group(root)
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return &usageError{err} })
	root.AddCommand( // processes of a studio
		newUpCommand(), newBrokerCommand(), newCollectCommand(), newProcessCommand(), newConsoleCommand(), newWatchCommand(), newEngineCommand(),
	)
	root.AddCommand( // what people do on the hub
		newKeysCommand(), newPeopleCommand(), newAnalystsCommand(), newVisitCommand(), newAuditCommand(), newReplayCommand(), newExportCommand(),
		newEraseCommand(),
		newBackupCommand(), newRestoreCommand(),
		newSheetCommand(), newReportCommand(), newTailCommand(), newSchemaCommand(), newConfigCommand(), newDoctorCommand(), newFeedCommand(),
		newSimCommand(),
	)
	root.AddCommand( // questions
		newClubCommand(), newProfileCommand(), newFleetCommand(), newDispersionCommand(), newEvidenceCommand(), newFlightCommand(),
		newImpactCommand(), newWindowCommand(), newVersionCommand(),
	)
	return mend(root)
}
