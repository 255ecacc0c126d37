package tomlfile

import (
	"fmt"
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
	if line, problem := odd(d.text); line > 0 {
		return &Error{File: d.Name, Line: line, Problem: problem}
	}
	return nil
}

// odd returns the first line on which keys or brackets nest more than maxDepth
// deep, or which has what TOML 1.1 brought and 1.0 has not, and what is wrong
// with it; or 0. It knows texts in quotes and comments.
func odd(text string) (line int, problem string) {
	line = 1
	var open [maxDepth + 1]byte // brackets
	depth, dots, comma := 0, 0, false
	for i := 0; i < len(text); i++ {
		c := text[i]
		switch c {
		case '\n':
			if depth > 0 && open[depth] == '{' {
				return line, "found a table in braces that goes on in the next line: want it in one line, or a [table]"
			}
			line++
			dots = 0
		case '#':
			n := strings.IndexByte(text[i:], '\n')
			if n < 0 {
				return 0, ""
			}
			i += n - 1
		case '[', '{':
			if depth++; depth <= maxDepth {
				open[depth] = c
			}
		case '}', ']':
			if c == '}' && comma {
				return line, "found a comma before the closing brace: want none"
			}
			depth = max(0, depth-1)
		case '.':
			dots++
		case '=', ',':
			dots = 0
		case '"', '\'':
			end := text[i : i+1]
			if strings.HasPrefix(text[i:], `"""`) || strings.HasPrefix(text[i:], "'''") {
				end = text[i : i+3]
			}
			for i += len(end); i < len(text) && !strings.HasPrefix(text[i:], end); i++ {
				if c == '"' && text[i] == '\\' && i+1 < len(text) {
					if i++; text[i] == 'e' || text[i] == 'x' {
						return line, fmt.Sprintf(`invalid escape: found \%c: want one of b, t, n, f, r, ", \, u and U`, text[i])
					}
				}
				if text[i] == '\n' {
					if line++; len(end) == 1 {
						break // not closed: the parser says so
					}
				}
			}
			i += len(end) - 1
		}
		if c != ' ' && c != '\t' {
			comma = c == ','
		}
		if depth > maxDepth || dots >= maxDepth {
			return line, "found tables or lists more than 32 deep in each other: want at most 32"
		}
	}
	return 0, ""
}
