package tomlfile

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// An Error is one fault of a file.
type Error struct {
	File    string
	Line    int    // 1 is the first; 0 if not known
	Key     string // "areas.shop.length"
	Problem string // what was found and what is allowed
	Err     error  // beneath, or nil
}

// Error gives file, line, key and problem in one line.
func (e *Error) Error() string {
	s := e.File
	if e.Line > 0 {
		s += fmt.Sprintf(":%d", e.Line)
	}
	if e.Key != "" {
		s += ": " + e.Key
	}
	return s + ": " + e.Problem
}

// Unwrap returns the error beneath.
func (e *Error) Unwrap() error { return e.Err }

// MaxErrors is how many faults are told at once.
const MaxErrors = 20

// Errors are several faults, at most [MaxErrors], those of a file in the order
// of its lines. Its text has a line for each.
type Errors struct {
	All  []error
	More int // faults beyond those
}

// Error gives a line for each fault.
func (e *Errors) Error() string {
	lines := make([]string, len(e.All))
	for i, err := range e.All {
		lines[i] = err.Error()
	}
	if e.More > 0 {
		lines = append(lines, fmt.Sprintf("and %d more", e.More))
	}
	return strings.Join(lines, "\n")
}

// Unwrap returns the faults.
func (e *Errors) Unwrap() []error { return e.All }

// Gather puts faults, also joined ones, into one error: nil for none, the fault
// itself for one, [*Errors] for more. The same fault twice counts once.
func Gather(errs ...error) error {
	var all []error
	more := 0
	var add func(err error)
	add = func(err error) {
		if many, ok := err.(*Errors); ok {
			more += many.More
		}
		if j, ok := err.(interface{ Unwrap() []error }); ok {
			for _, e := range j.Unwrap() {
				add(e)
			}
			return
		}
		if err != nil && !slices.ContainsFunc(all, func(o error) bool { return o.Error() == err.Error() }) {
			all = append(all, err)
		}
	}
	for _, err := range errs {
		add(err)
	}
	rank := map[string]int{}
	place := func(err error) (file, line int) {
		e := (*Error)(nil)
		if !errors.As(err, &e) {
			return -1, 0
		}
		if _, ok := rank[e.File]; !ok {
			rank[e.File] = len(rank)
		}
		return rank[e.File], e.Line
	}
	for _, err := range all {
		place(err)
	}
	slices.SortStableFunc(all, func(a, b error) int {
		fa, la := place(a)
		fb, lb := place(b)
		if fa != fb {
			return fa - fb
		}
		return la - lb
	})
	if n := len(all); n > MaxErrors {
		all, more = all[:MaxErrors], more+n-MaxErrors
	}
	switch {
	case len(all) == 0:
		return nil
	case len(all) == 1 && more == 0:
		return all[0]
	}
	return &Errors{All: all, More: more}
}

// Nearest returns the one of known that word most looks like, or "" if it looks
// like none: case and the marks between words do not count, and a third of the
// letters may be wrong, left out, added or swapped with the next.
func Nearest(word string, known []string) string {
	best, least := "", 0
	w := plain(word)
	if len(w) > 64 {
		return ""
	}
	for _, k := range known {
		p := plain(k)
		d := distance(w, p)
		if d <= max(len(w), len(p))/3 && (best == "" || d < least) {
			best, least = k, d
		}
	}
	return best
}

// OneOf says what is allowed instead of word: "one of a, b, c", with the nearest first told.
func OneOf(word string, known []string) string {
	s := "one of " + strings.Join(known, ", ")
	if near := Nearest(word, known); near != "" && len(known) > 1 {
		s += " (nearest: " + near + ")"
	}
	return s
}

func plain(s string) []rune {
	return []rune(strings.Map(func(r rune) rune {
		if r == '-' || r == '_' || r == ' ' {
			return -1
		}
		return unicode.ToLower(r)
	}, s))
}

// distance counts the letters that differ: the optimal string alignment
// distance (Damerau 1964, restricted form; from memory).
func distance(a, b []rune) int {
	two, one, now := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range one {
		one[j] = j
	}
	for i := range a {
		now[0] = i + 1
		for j := range b {
			cost := 1
			if a[i] == b[j] {
				cost = 0
			}
			now[j+1] = min(one[j+1]+1, now[j]+1, one[j]+cost)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				now[j+1] = min(now[j+1], two[j-1]+1)
			}
		}
		two, one, now = one, now, two
	}
	return one[len(b)]
}
