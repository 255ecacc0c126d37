package systems

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// An Explanation says where one figure of a plan comes from: the formula in
// words and what stands in it, down to the figures of data files and of the job.
type Explanation struct {
	Path    string        `json:"path,omitempty"` // what [Outcome.Explain] calls it; "" of a figure that was given
	Name    string        `json:"name"`           // in the formula above it
	Value   Amount        `json:"value"`          // none of a count, a price, a time or rows
	Text    string        `json:"text"`           // as written where it was given, exact in SI where it was computed
	Formula string        `json:"formula,omitempty"`
	Inputs  []Explanation `json:"inputs,omitempty"`
	Origin                // of a figure that was given
	File    *FileID       `json:"file,omitempty"` // where it was given; nil: in the job

	written bool // Text is as it was written
}

// Explain says where a figure of the plan comes from, such as
// "steps.body.kits"; [Outcome.Explainable] lists what it can be asked for. The
// place of a figure in the outcome's JSON does too: "take_off.3.gross". There is
// no figure in the JSON, but for what the plan was made from, that it does not
// explain.
//
// It plans the job once more, at the first figure asked for, and takes value and inputs from that same run, as
// the code that plans left them. Then it works the formula out from its inputs:
// one that does not give the plan's figure is an error, not an explanation.
// Times, and what follows from the forecast of a space or from another plan, are
// the exception: their formula is the reason in words.
//
// The outcome must be one of [Plan] or [Replay]: JSON alone does not hold the job.
func (o *Outcome) Explain(path string) (*Explanation, error) {
	notes, err := o.notes()
	if err != nil {
		return nil, err
	}
	if _, ok := notes[path]; !ok {
		path = o.named(path)
	}
	if _, ok := notes[path]; !ok {
		return nil, fmt.Errorf("systems.Outcome.Explain: found %q: want a figure of the plan's JSON such as take_off.0.gross, or one that Explainable lists%s", path, nearest(path, notes))
	}
	e, _, err := notes.explain("", path)
	if err != nil {
		return nil, fmt.Errorf("systems.Outcome.Explain: %w", err)
	}
	return e, nil
}

// Explainable lists the figures that [Outcome.Explain] can be asked for, without
// those that are nothing because a step has no such thing.
func (o *Outcome) Explainable() ([]string, error) {
	notes, err := o.notes()
	return slices.DeleteFunc(slices.Sorted(maps.Keys(notes)), func(path string) bool { return notes[path].nothing }), err
}

func (o *Outcome) notes() (notes, error) {
	if o.why == nil {
		return nil, errors.New("systems.Outcome.Explain: the outcome was not made by Plan or Replay")
	}
	return o.why()
}

// explainer returns what makes the notes of a job's plan, once.
func explainer(j *Job) func() (notes, error) {
	return sync.OnceValues(func() (notes, error) {
		p, err := wholePlan(context.Background(), j)
		if err != nil {
			return nil, err
		}
		return p.notes(), nil
	})
}

// notes are the explanations of one run, by path.
type notes map[string]note

// A note says how one figure was computed.
type note struct {
	name    string
	value   any // quantity, int, price, time.Time or text
	formula string
	in      []arg
	by      func(x map[string]float64) (float64, error) // works it out where the formula is a sentence; nil: the formula itself is worked out
	told    bool                                        // a reason in words: nothing to work out
	nothing bool                                        // there is no such thing
	given   *arg                                        // it was given: nothing else of the note counts
}

// An arg is an input of a note: a figure computed elsewhere, at path, or one
// that was given.
type arg struct {
	name, path string
	value      any
	text       string
	origin     Origin
	file       *FileID
}

// si returns the number of a value in SI, or NaN if it has none.
func si(value any) float64 {
	switch v := value.(type) {
	case units.Temperature:
		return v.Kelvin()
	case units.Span:
		return v.Duration().Seconds()
	case int:
		return float64(v)
	case float64:
		return v
	case units.Quantity:
		if r := reflect.ValueOf(v); r.Kind() == reflect.Float64 {
			return r.Float()
		}
	}
	return math.NaN()
}

func text(value any) string {
	switch v := value.(type) {
	case time.Time:
		return v.Format(time.RFC3339)
	case fmt.Stringer:
		return v.String()
	}
	return fmt.Sprint(value)
}

// explain makes the tree below path and returns its number.
func (n notes) explain(name, path string) (*Explanation, float64, error) {
	x, ok := n[path]
	if !ok {
		return nil, 0, fmt.Errorf("%s is not explained", path)
	}
	if x.given != nil {
		e := x.given.explain()
		if e.Path = path; name != "" {
			e.Name = name
		}
		return &e, si(x.value), nil
	}
	if name == "" {
		name = x.name
	}
	e := &Explanation{Path: path, Name: name, Text: text(x.value), Formula: x.formula}
	if q, ok := x.value.(units.Quantity); ok {
		e.Value = Amount{q}
	}
	values := map[string]float64{}
	for _, a := range x.in {
		if a.path != "" {
			in, v, err := n.explain(a.name, a.path)
			if err != nil {
				return nil, 0, err
			}
			values[a.name] = v
			e.Inputs = append(e.Inputs, *in)
			continue
		}
		values[a.name] = si(a.value)
		e.Inputs = append(e.Inputs, a.explain())
	}
	is := si(x.value)
	if x.told {
		return e, is, nil
	}
	var gives float64
	var err error
	if x.by != nil {
		gives, err = x.by(values)
	} else {
		gives, err = workOut(x.formula, values)
	}
	if err != nil {
		return nil, 0, fmt.Errorf("%s: %w", path, err)
	}
	if !(math.Abs(gives-is) <= 1e-9*math.Max(math.Abs(gives), math.Abs(is))) { // rounding; NaN is told
		return nil, 0, fmt.Errorf("%s is %v and its formula %q gives %g: the explanation does not hold", path, e.Text, x.formula, gives)
	}
	return e, is, nil
}

// explain says where a figure that was given comes from.
func (a *arg) explain() Explanation {
	e := Explanation{Name: a.name, Text: a.text, Origin: a.origin, File: a.file, written: a.text != ""}
	if q, ok := a.value.(units.Quantity); ok {
		e.Value = Amount{q}
	}
	if e.Text == "" {
		e.Text = text(a.value)
	}
	return e
}

// In says the value for people, in s; what was given as it was written.
func (e *Explanation) In(s units.System) string {
	if e.Value.Q == nil || e.written {
		return e.Text
	}
	return e.Value.In(s)
}

// Write writes the explanation as lines, each input below what it is in; what was
// derived above already is not derived again.
func (e *Explanation) Write(w io.Writer, s units.System) error {
	var b strings.Builder
	e.write(&b, s, "", map[string]string{})
	_, err := io.WriteString(w, b.String())
	return err
}

func (e *Explanation) write(b *strings.Builder, s units.System, indent string, above map[string]string) {
	line := fmt.Sprintf("%s: %s", e.Name, e.In(s))
	b.WriteString(indent + line)
	if len(e.Inputs) > 0 {
		if above[line] == e.Formula {
			b.WriteString(", as above\n")
			return
		}
		above[line] = e.Formula
	}
	if e.Formula != "" {
		fmt.Fprintf(b, " = %s", e.Formula)
	} else {
		from := []string{string(e.Basis)}
		for _, part := range []string{e.Source, e.At, e.Note} {
			if part != "" {
				from = append(from, part)
			}
		}
		if e.File != nil {
			from = append(from, e.File.Kind+" "+e.File.ID+" "+e.File.Version)
		}
		fmt.Fprintf(b, " (%s)", strings.Join(from, "; "))
	}
	b.WriteByte('\n')
	for _, in := range e.Inputs {
		in.write(b, s, indent+"  ", above)
	}
}

// workOut computes a formula of the names of x, numbers, + - * / and brackets.
func workOut(formula string, x map[string]float64) (float64, error) {
	names := slices.Collect(maps.Keys(x))
	slices.SortFunc(names, func(a, b string) int { return len(b) - len(a) }) // the longest first
	p := parser{formula, names, x}
	v, err := p.sum()
	if err == nil && p.rest != "" {
		err = fmt.Errorf("formula %q: found %q", formula, p.rest)
	}
	return v, err
}

type parser struct {
	rest  string
	names []string
	x     map[string]float64
}

func (p *parser) take(s string) bool {
	p.rest = strings.TrimLeft(p.rest, " ")
	if strings.HasPrefix(p.rest, s) {
		p.rest = strings.TrimLeft(p.rest[len(s):], " ")
		return true
	}
	return false
}

func (p *parser) sum() (float64, error) {
	v, err := p.product()
	for err == nil {
		var w float64
		switch {
		case p.take("+ "):
			w, err = p.product()
			v += w
		case p.take("- "):
			w, err = p.product()
			v -= w
		default:
			return v, nil
		}
	}
	return v, err
}

func (p *parser) product() (float64, error) {
	v, err := p.term()
	for err == nil {
		var w float64
		switch {
		case p.take("* "):
			w, err = p.term()
			v *= w
		case p.take("/ "):
			w, err = p.term()
			v /= w
		default:
			return v, nil
		}
	}
	return v, err
}

func (p *parser) term() (float64, error) {
	if p.take("(") {
		v, err := p.sum()
		if err == nil && !p.take(")") {
			err = fmt.Errorf("formula: found %q: want a bracket closed", p.rest)
		}
		return v, err
	}
	for _, name := range p.names {
		if p.take(name) {
			return p.x[name], nil
		}
	}
	if p.take("1") {
		return 1, nil
	}
	return 0, fmt.Errorf("formula: found %q: want one of its inputs", p.rest)
}
