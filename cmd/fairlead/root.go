package main

import (
	"context"
	"io"

	"github.com/spf13/cobra"

	"fairlead/cmd/frame"
)

// run executes one command line and returns its exit code: 0 for success, 2
// for wrong use, what a command says by frame.Exit, 1 for any other failure.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	root := newRoot()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	return frame.Code(root.ExecuteContext(ctx), stderr)
}

// newRoot builds the command tree. A new command gets a file of its own with
// its constructor, and its name in this list.
func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:           "fairlead",
		Short:         "Keep every shot of a fitting, know which build hit it, and say how sure one may be",
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          frame.Unknown("command"),
	}
	frame.Group(root)
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return frame.Use(err) })
	root.AddCommand( // processes of a studio
		newUpCommand(), newBrokerCommand(), newCollectCommand(), newProcessCommand(), newConsoleCommand(), newWatchCommand(), newEngineCommand(),
		newForwardCommand(),
	)
	root.AddCommand( // what people do on the hub
		newBayCommand(), newKeysCommand(), newAuthorityCommand(), newPeopleCommand(), newAnalystsCommand(), newVisitCommand(), newStockCommand(),
		newMorningCommand(), newOrderCommand(),
		newAuditCommand(),
		newReplayCommand(), newExportCommand(),
		newEraseCommand(), newSealCommand(),
		newBackupCommand(), newRestoreCommand(),
		newSheetCommand(), newReportCommand(), newTailCommand(), newSchemaCommand(), newConfigCommand(), newDoctorCommand(), newFeedCommand(),
		newSimCommand(),
	)
	root.AddCommand( // questions
		newClubCommand(), newProfileCommand(), newFleetCommand(), newDispersionCommand(), newEvidenceCommand(), newFlightCommand(),
		newImpactCommand(), newWindowCommand(), newVersionCommand(),
	)
	return frame.Mend(root)
}
