package guess

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"fairlead/ingest/bay/feed"
	"fairlead/ingest/bay/sample"
	"fairlead/ingest/bay/sheet"
)

// sampleBytes is how much of a file a guess looks at, sampleFiles of how many.
const (
	sampleBytes = 1 << 20
	sampleFiles = 50
)

// Files lists the files that are named, and those of a folder.
func Files(args []string) (files []string, err error) {
	for _, arg := range args {
		info, err := os.Stat(arg)
		switch {
		case arg == "-":
			files = append(files, arg)
			continue
		case err != nil:
			return nil, fmt.Errorf("read the device's file: %w", err)
		case !info.IsDir():
			files = append(files, arg)
			continue
		}
		inside, err := feed.FolderFiles(arg)
		if err != nil {
			return nil, err
		}
		files = append(files, inside...)
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("no file in %v: name the folder that the device writes to", args)
	}
	return files, nil
}

// Samples reads the first part of each file.
func Samples(args []string) (out []sample.File, err error) {
	paths, err := Files(args)
	if err != nil {
		return nil, err
	}
	for _, path := range paths[:min(len(paths), sampleFiles)] {
		f, err := os.Open(path)
		if err != nil {
			return nil, fmt.Errorf("read the device's file: %w", err)
		}
		data, err := io.ReadAll(io.LimitReader(f, sampleBytes))
		if err == nil && sheet.Kind(data) != "" {
			var held sample.File
			held, err = heldSample(path, data, f)
			f.Close()
			if err != nil {
				return nil, fmt.Errorf("read the device's file: %w", err)
			}
			out = append(out, held)
			continue
		}
		f.Close()
		if err == nil {
			data, err = unpacked(path, data)
		}
		if err != nil {
			return nil, fmt.Errorf("read the device's file: %w", err)
		}
		if len(data) == sampleBytes { // whole lines alone
			if at := strings.LastIndexByte(string(data), '\n'); at > 0 {
				data = data[:at+1]
			}
		}
		out = append(out, sample.File{Name: strings.TrimSuffix(filepath.Base(path), ".gz"), Data: data})
	}
	return out, nil
}

// unpacked is the beginning of what a file of gzip holds; other files stay.
func unpacked(path string, data []byte) ([]byte, error) {
	if !feed.Packed(path) || len(data) < 2 || data[0] != 0x1f || data[1] != 0x8b {
		return data, nil
	}
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("%s is no gzip file: %w", filepath.Base(path), err)
	}
	text, err := io.ReadAll(io.LimitReader(z, sampleBytes))
	if len(text) > 0 {
		return text, nil // its end may be cut off, here or by the device
	}
	return text, err
}

// heldSample reads a workbook or a database whole, the latter with its log.
func heldSample(path string, front []byte, rest io.Reader) (sample.File, error) {
	more, err := io.ReadAll(io.LimitReader(rest, sample.MostHeld))
	if err != nil {
		return sample.File{}, err
	}
	log, err := os.ReadFile(path + sheet.Companions[0])
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return sample.File{}, err
	}
	return sample.Of(filepath.Base(path), append(front, more...), log)
}
