package learn

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/tackfree/tackfree/data/units"
	"github.com/tackfree/tackfree/internal/tomlfile"
	"github.com/tackfree/tackfree/systems"
)

// A Figure is one figure learned.
type Figure struct {
	Key       []string       `json:"key"` // in the job: room, slab, film
	Name      string         `json:"name"`
	Value     systems.Amount `json:"value"`
	Low       systems.Amount `json:"low"` // of the 95 % interval; none from one reading alone
	High      systems.Amount `json:"high"`
	Was       systems.Amount `json:"was"`       // what the job has; none if nothing
	N         int            `json:"n"`         // readings believed
	Effective float64        `json:"effective"` // as many independent ones
	Basis     string         `json:"basis"`     // "learned from 62 readings"
	Note      string         `json:"note,omitempty"`
	Beside    bool           `json:"beside,omitempty"` // told, and not put into a job
}

// A Flag is a sensor, or readings of one, that is not believed.
type Flag struct {
	Reading string         `json:"reading"` // its name
	Wrong   string         `json:"wrong"`   // one of the kinds below
	By      systems.Amount `json:"by"`      // by how much
	From    time.Duration  `json:"from"`    // since the job's start
	To      time.Duration  `json:"to"`
	N       int            `json:"n"`   // readings that it concerns
	Did     string         `json:"did"` // what was done about it, in words
	Note    string         `json:"note,omitempty"`
}

// What can be wrong with a sensor.
const (
	Wild    = "wild readings"   // single ones far off the rest
	Offset  = "constant offset" // always as much too high
	Drift   = "drift"           // more and more so
	Stuck   = "stuck"           // the same value while the others move
	Jump    = "jump"            // from one moment on as much too high
	MixUp   = "unit mix-up"     // °F taken for °C or the other way round
	Shifted = "shifted clock"   // its times are hours off
	Apart   = "do not agree"    // of two, and nothing says which is wrong
)

// A Residual is a reading against what was learned.
type Residual struct {
	Reading string          `json:"reading"`
	At      time.Duration   `json:"at"`
	Off     units.TempDelta `json:"off"`    // read less computed
	Weight  units.Fraction  `json:"weight"` // 0: not believed
}

// A Result is what readings taught.
type Result struct {
	Figures   []Figure   `json:"figures"`
	Flags     []Flag     `json:"flags,omitempty"`
	Notes     []string   `json:"notes,omitempty"` // what could not be learned, and why
	Residuals []Residual `json:"residuals,omitempty"`
}

func (r *Result) note(format string, args ...any) {
	r.Notes = append(r.Notes, fmt.Sprintf(format, args...))
}

// join takes over what another learned.
func (r *Result) join(o *Result) {
	r.Figures = append(r.Figures, o.Figures...)
	for _, f := range o.Flags {
		if !slices.Contains(r.Flags, f) { // the air's loggers are looked at twice
			r.Flags = append(r.Flags, f)
		}
	}
	r.Notes = append(r.Notes, o.Notes...)
	r.Residuals = append(r.Residuals, o.Residuals...)
}

// Figure returns the figure learned of a key such as "room.slab.film": the one
// that is put into a job, or else the one that is told beside.
func (r *Result) Figure(key string) (beside Figure, ok bool) {
	for _, f := range r.Figures {
		switch {
		case strings.Join(f.Key, ".") != key:
		case !f.Beside:
			return f, true
		case !ok:
			beside, ok = f, true
		}
	}
	return beside, ok
}

func learned(n int) string {
	if n == 1 {
		return "learned from 1 reading"
	}
	return fmt.Sprintf("learned from %d readings", n)
}

// Sentence says the flag in one sentence, with its amount in s.
func (f Flag) Sentence(s units.System) string {
	said := fmt.Sprintf("%s: %s", f.Reading, f.Wrong)
	if by := f.By.In(s); by != "" {
		said += ", " + by
	}
	said += fmt.Sprintf(" (%s from %s to %s); %s", count(f.N, "reading"), units.DurationText(f.From.Round(time.Minute)), units.DurationText(f.To.Round(time.Minute)), f.Did)
	if f.Note != "" {
		said += "; " + f.Note
	}
	return said + "."
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// interval says the figure's 95 % interval in s.
func (f *Figure) interval(s units.System) string {
	switch {
	case f.Low.Q == nil && f.N < 2:
		return "no interval from one reading"
	case f.Low.Q == nil:
		return "no interval known: readings too few, alike or too far apart"
	}
	return "95 %: " + f.Low.In(s) + " to " + f.High.In(s)
}

// fourFigures is a quantity's text in SI to four figures, enough for what is learned.
func fourFigures(q units.Quantity) string {
	text := q.String()
	number, symbol, _ := strings.Cut(text, " ")
	v, err := strconv.ParseFloat(number, 64)
	if err != nil {
		return text
	}
	if _, ok := q.(units.Temperature); ok {
		return fmt.Sprintf("%.2f °C", q.(units.Temperature).Celsius())
	}
	if v == 0 {
		return text
	}
	if a := math.Abs(v); a < 1e-6 || a >= 1e12 {
		return fmt.Sprintf("%.3e %s", v, symbol)
	}
	digits := max(0, 3-int(math.Floor(math.Log10(math.Abs(v))))) // at most 9
	return fmt.Sprintf("%.*f %s", digits, v, symbol)
}

// literal is the figure as the TOML value of its key.
func (f *Figure) literal() string {
	text := fourFigures(f.Value.Q)
	if f.Key[0] != "steps" && f.Key[0] != "areas" { // whose figures carry a note
		return fmt.Sprintf("%q", text)
	}
	note := f.Basis
	if f.Low.Q != nil {
		note += ", 95 % " + fourFigures(f.Low.Q) + " to " + fourFigures(f.High.Q)
	}
	return fmt.Sprintf("{ value = %q, basis = \"job\", note = %q }", text, note)
}

// TOML is what was learned as text to put into the job's file, table by table, in
// the place of what stands there. Each table comes once, where its first figure was
// learned.
func (r *Result) TOML() string {
	var tables []string
	lines := map[string]string{}
	for i := range r.Figures {
		f := &r.Figures[i]
		if f.Beside {
			continue
		}
		table := make([]string, len(f.Key)-1)
		for i, k := range f.Key[:len(f.Key)-1] {
			table[i] = tomlfile.Key(k)
		}
		t := strings.Join(table, ".")
		if lines[t] == "" {
			tables = append(tables, t)
		}
		lines[t] += f.line()
	}
	for i, t := range tables {
		tables[i] = fmt.Sprintf("[%s]\n%s", t, lines[t])
	}
	return strings.Join(tables, "\n")
}

// line is the figure as a line of TOML in its table.
func (f *Figure) line() string {
	text := fmt.Sprintf("%s = %s", tomlfile.Key(f.Key[len(f.Key)-1]), f.literal())
	switch f.Key[0] {
	case "steps":
	case "areas":
		text += " # in the place of porosity and penetration, or of drank"
	default:
		text += " # " + f.Basis
		if f.Low.Q != nil {
			text += fmt.Sprintf(", 95 %% %s to %s", fourFigures(f.Low.Q), fourFigures(f.High.Q))
		}
	}
	return text + "\n"
}

// Apply returns the job with what was learned in the place of its own figures,
// and its text. It is read again from its text, as [systems.Job.Revise] says.
func (r *Result) Apply(j systems.Job) (systems.Job, string, error) {
	var all []systems.Change
	for _, f := range r.Figures {
		if f.Beside {
			continue
		}
		if f.Key[0] == "areas" && f.Key[2] == "uptake" { // measured: in the place of what it was worked out from
			for _, old := range []string{"porosity", "penetration", "drank"} {
				all = append(all, systems.Change{Key: []string{"areas", f.Key[1], old}})
			}
		}
		all = append(all, systems.Change{Key: f.Key, Value: f.literal()})
	}
	return j.Revise(all...)
}

// Write writes what was learned for people, with quantities in s.
func (r *Result) Write(w io.Writer, s units.System) error {
	var b strings.Builder
	b.WriteString("WHAT WAS LEARNED\n----------------\n")
	for _, f := range r.Figures {
		fmt.Fprintf(&b, "%s (%s): %s", f.Name, strings.Join(f.Key, "."), f.Value.In(s))
		fmt.Fprintf(&b, " (%s; %s", f.interval(s), f.Basis)
		if f.N > 1 && f.Effective < 0.95*float64(f.N) {
			fmt.Fprintf(&b, ", worth %.0f independent ones", f.Effective)
		}
		b.WriteByte(')')
		if was := f.Was.In(s); was != "" {
			fmt.Fprintf(&b, "; the job has %s", was)
		}
		if f.Note != "" {
			fmt.Fprintf(&b, "; %s", f.Note)
		}
		b.WriteString("\n")
	}
	if len(r.Figures) == 0 {
		b.WriteString("Nothing.\n")
	}
	for _, f := range r.Flags {
		fmt.Fprintf(&b, "NOT BELIEVED  %s\n", f.Sentence(s))
	}
	for _, n := range r.Notes {
		fmt.Fprintf(&b, "NOTE  %s\n", n)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
