package main

import (
	"fmt"
	"os"
	"sync"
)

// statementsMost is when the list of statements begins anew; the one before is kept beside it.
const statementsMost = 32 << 20

// statements is the list of who asked what, readable by the engine's user alone.
type statements struct {
	mu   sync.Mutex
	path string
	file *os.File
	size int64
}

func openStatements(path string) (*statements, error) {
	s := &statements{path: path}
	return s, s.open()
}

func (s *statements) open() error {
	f, err := os.OpenFile(s.path, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("list of statements: %w", err)
	}
	info, err := f.Stat()
	if err != nil {
		f.Close()
		return fmt.Errorf("list of statements: %w", err)
	}
	s.file, s.size = f, info.Size()
	return nil
}

func (s *statements) Write(line []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.size+int64(len(line)) > statementsMost {
		s.file.Close()
		if err := os.Rename(s.path, s.path+".1"); err != nil {
			return 0, err
		}
		if err := s.open(); err != nil {
			return 0, err
		}
	}
	n, err := s.file.Write(line)
	s.size += int64(n)
	return n, err
}

// Close ends the list.
func (s *statements) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.file.Close()
}
