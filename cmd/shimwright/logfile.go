package main

import "os"

// mostOfLog is at how many bytes a log's file becomes FILE.1 and is begun anew, so
// that both take twice that at most.
const mostOfLog = 10 << 20

// A logFile is a log's file of bounded size. One goroutine writes to it.
type logFile struct {
	path string
	most int64
	f    *os.File
	size int64
}

func openLogFile(path string) (*logFile, error) {
	l := &logFile{path: path, most: mostOfLog}
	return l, l.open()
}

func (l *logFile) open() error {
	f, err := os.OpenFile(l.path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	info, err := f.Stat()
	if err != nil {
		_ = f.Close() // the error that counts is there already
		return err
	}
	l.f, l.size = f, info.Size()
	return nil
}

// Write writes a line. Where the file cannot be begun anew it is written to no
// more until it can.
func (l *logFile) Write(p []byte) (int, error) {
	if l.f == nil {
		if err := l.open(); err != nil {
			return 0, err
		}
	}
	if l.size > 0 && l.size+int64(len(p)) > l.most {
		if err := l.anew(); err != nil {
			return 0, err
		}
	}
	n, err := l.f.Write(p)
	l.size += int64(n)
	return n, err
}

// anew puts the file aside and begins another.
func (l *logFile) anew() error {
	_ = l.f.Close() // what it holds was written
	l.f = nil
	if err := os.Rename(l.path, l.path+".1"); err != nil {
		return err
	}
	return l.open()
}

func (l *logFile) close() error {
	if l.f == nil {
		return nil
	}
	return l.f.Close()
}
