package erase

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"
)

// Confirm shows what will go and wants the name typed, or the id of one who has none.
func Confirm(in io.Reader, w io.Writer, r Receipt, name string) error {
	r.DryRun = true
	r.WriteText(w)
	if name == "" {
		name = r.Player
	}
	fmt.Fprintf(w, "\nType %s to erase: ", name)
	line, err := bufio.NewReader(in).ReadString('\n')
	if strings.EqualFold(strings.TrimSpace(line), name) {
		return nil
	}
	if err != nil && line == "" {
		return errors.New("nothing was erased: nobody answered; scripts say --yes")
	}
	return errors.New("nothing was erased: that was not the name")
}
