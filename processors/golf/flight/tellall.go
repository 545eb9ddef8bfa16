package flight

import "io"

// Flown is a flight for a picture.
type Flown struct {
	Name string
	Path []Point
}

// TellAll tells of shots one after the other. One alone that cannot be computed is
// an error; of many each is reported, in its place or on stderr, and counted.
// points, unless it is 0, is of how many the paths are that are returned.
func TellAll(shots []Shot, c Conditions, ask Asking, out *Writer, stderr io.Writer, points int) (paths []Flown, failed int, err error) {
	for i := range shots {
		s := &shots[i]
		account, err := Tell(s, c, ask)
		if err != nil && !out.Many {
			return nil, 1, err
		}
		if err != nil {
			failed++
			if err := out.Fail(Failure{Line: s.Line, ID: s.ID, Error: err.Error()}, stderr); err != nil {
				return nil, failed, err
			}
			continue
		}
		if err := out.Add(account); err != nil {
			return nil, failed, err
		}
		if points > 0 {
			path, err := Path(s.Launch, c, points)
			if err != nil {
				return nil, failed, err
			}
			paths = append(paths, Flown{account.Name(), path})
		}
	}
	return paths, failed, out.Close()
}
