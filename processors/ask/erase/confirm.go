package erase

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"
)

// Confirm shows what will go and wants the id typed once more.
func Confirm(in io.Reader, w io.Writer, r Receipt, name string) error {
	r.DryRun = true
	r.WriteText(w)
	if name != "" {
		fmt.Fprintf(w, "\nThe name on file is %s.", name)
	}
	fmt.Fprintf(w, "\nThis can't be taken back. Type %s to erase: ", r.Player)
	line, err := bufio.NewReader(in).ReadString('\n')
	if strings.TrimSpace(line) == r.Player {
		return nil
	}
	if err != nil && line == "" {
		return errors.New("nothing was erased: nobody answered; scripts say --yes")
	}
	return errors.New("nothing was erased: that was not the id")
}
