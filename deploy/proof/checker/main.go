// Command checker says whether a studio's store holds what its devices wrote and
// its fitters did. It knows the feed files, the list of what fitters were told was
// kept, and SQL, and nothing else: no package of Fairlead's, so that a fault of
// theirs is not its own too. A test says so.
//
//	go run ./deploy/proof/checker -feeds feeds -commands commands.jsonl -sql http://127.0.0.1:8123 -token FILE
//
// It exits 0 when nothing is lost, doubled, altered or under a wrong build, 1 when
// something is, 2 when it could not look. Its answer is JSON.
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
)

func main() { os.Exit(run()) }

func run() int {
	feeds := flag.String("feeds", "feeds", "folder of the devices' files, BAY.csv")
	commands := flag.String("commands", "commands.jsonl", "what fitters did, one JSON object a line")
	address := flag.String("sql", "http://127.0.0.1:8123", "the store's HTTP address")
	token := flag.String("token", "", "file with the store's token")
	database := flag.String("database", "fairlead", "the store's database")
	flag.Parse()
	verdict, err := look(*feeds, *commands, &asker{address: *address, tokenFile: *token, database: *database})
	if err != nil {
		fmt.Fprintln(os.Stderr, "checker:", err)
		return 2
	}
	out := json.NewEncoder(os.Stdout)
	out.SetIndent("", "  ")
	out.Encode(verdict)
	if verdict.wrong() {
		return 1
	}
	return 0
}

// look reads both sides and compares them.
func look(feeds, commands string, ask *asker) (*verdict, error) {
	lines, err := readFeeds(feeds)
	if err != nil {
		return nil, err
	}
	done, err := readCommands(commands)
	if err != nil {
		return nil, err
	}
	stored, err := ask.rows()
	if err != nil {
		return nil, err
	}
	trials, err := ask.trials()
	if err != nil {
		return nil, err
	}
	return compare(lines, done, stored, trials), nil
}
