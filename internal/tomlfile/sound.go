package tomlfile

import (
	"bytes"
	"strings"
	"unicode/utf8"
)

// What a file may be at most. They are far above any real one and keep a bad
// file from costing more than its reading; common practice, no source.
const (
	MaxBytes = 8 << 20
	maxDepth = 32 // of tables and lists in each other
)

// sound refuses what is not worth parsing: a text that is too long, is not
// UTF-8 or nests too deep.
func (d *Doc) sound() error {
	if len(d.text) > MaxBytes {
		return &Error{File: d.Name, Problem: "found a file longer than 8 MiB: want at most 8 MiB"}
	}
	if !utf8.ValidString(d.text) {
		good := 0
		for good < len(d.text) {
			r, n := utf8.DecodeRuneInString(d.text[good:])
			if r == utf8.RuneError && n == 1 {
				break
			}
			good += n
		}
		return &Error{File: d.Name, Line: 1 + strings.Count(d.text[:good], "\n"), Problem: "found a byte that is not UTF-8: want the file saved as UTF-8"}
	}
	if line := deep(d.text); line > 0 {
		return &Error{File: d.Name, Line: line, Problem: "found tables or lists more than 32 deep in each other: want at most 32"}
	}
	return nil
}

// deep returns the first line on which keys or brackets nest more than
// maxDepth deep, or 0. It knows texts in quotes and comments.
func deep(text string) int {
	line, depth, dots := 1, 0, 0
	for i := 0; i < len(text); i++ {
		switch c := text[i]; c {
		case '\n':
			line++
			dots = 0
		case '#':
			n := strings.IndexByte(text[i:], '\n')
			if n < 0 {
				return 0
			}
			i += n - 1
		case '[', '{':
			depth++
		case ']', '}':
			depth = max(0, depth-1)
		case '.':
			dots++
		case '=', ',':
			dots = 0
		case '"', '\'':
			end := []byte{c}
			if strings.HasPrefix(text[i:], strings.Repeat(string(c), 3)) {
				end = []byte{c, c, c}
			}
			for i += len(end); i < len(text) && !bytes.HasPrefix([]byte(text[i:min(len(text), i+3)]), end); i++ {
				if c == '"' && text[i] == '\\' && i+1 < len(text) {
					i++
				}
				if text[i] == '\n' {
					if line++; len(end) == 1 {
						break // not closed: the decoder says so
					}
				}
			}
			i += len(end) - 1
		}
		if depth > maxDepth || dots >= maxDepth {
			return line
		}
	}
	return 0
}
