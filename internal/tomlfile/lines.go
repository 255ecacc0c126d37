package tomlfile

import (
	"strconv"
	"strings"
)

// lines maps every key of a TOML text to its line. It expects a text that the
// decoder has accepted; of one that it has not, it finds what it can. Keys
// inside an inline table are on the line of the table's own key.
func lines(text string) map[string]int {
	found := map[string]int{}
	var table []string
	depth, until := 0, "" // open brackets of a value; end of an open multi-line string
	for i, line := range strings.Split(text, "\n") {
		n := i + 1
		if until != "" {
			at := strings.Index(line, until)
			if at < 0 {
				continue
			}
			depth, until = brackets(line[at+3:], depth)
			continue
		}
		if depth > 0 {
			depth, until = brackets(line, depth)
			continue
		}
		s := strings.TrimLeft(line, " \t")
		switch {
		case s == "" || s[0] == '#' || s[0] == '\r':
		case strings.HasPrefix(s, "["):
			key, _ := path(strings.TrimLeft(s, "["))
			table = key
			note(found, table, n)
		default:
			key, rest := path(s)
			note(found, append(append([]string{}, table...), key...), n)
			depth, until = brackets(rest, 0)
		}
	}
	return found
}

// note records key and, where they are new, the tables above it.
func note(found map[string]int, key []string, line int) {
	for i := range key {
		k := strings.Join(key[:i+1], "\x00")
		if _, ok := found[k]; !ok {
			found[k] = line
		}
	}
}

// path reads a dotted key and returns what follows it.
func path(s string) (key []string, rest string) {
	for {
		s = strings.TrimLeft(s, " \t")
		if s == "" {
			return key, s
		}
		if q := s[0]; q == '"' || q == '\'' {
			end := 1
			for end < len(s) && s[end] != q {
				if q == '"' && s[end] == '\\' {
					end++
				}
				end++
			}
			if end >= len(s) {
				return key, ""
			}
			name := s[1:end]
			if u, err := strconv.Unquote(s[:end+1]); q == '"' && err == nil {
				name = u
			}
			key, s = append(key, name), s[end+1:]
		} else {
			end := strings.IndexAny(s, " \t.=]")
			if end < 0 {
				return append(key, s), ""
			}
			key, s = append(key, s[:end]), s[end:]
		}
		s = strings.TrimLeft(s, " \t")
		if !strings.HasPrefix(s, ".") {
			return key, s
		}
		s = s[1:]
	}
}

// brackets counts the brackets left open after s, and tells whether a
// multi-line string is open and what ends it.
func brackets(s string, depth int) (int, string) {
	for i := 0; i < len(s); i++ {
		switch c := s[i]; c {
		case '#':
			return depth, ""
		case '[', '{':
			depth++
		case ']', '}':
			depth--
		case '"', '\'':
			three := strings.Repeat(string(c), 3)
			if strings.HasPrefix(s[i:], three) {
				end := strings.Index(s[i+3:], three)
				if end < 0 {
					return depth, three
				}
				i += 3 + end + 2
				continue
			}
			for i++; i < len(s) && s[i] != c; i++ {
				if c == '"' && s[i] == '\\' {
					i++
				}
			}
		}
	}
	return depth, ""
}
