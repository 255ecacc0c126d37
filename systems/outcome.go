package systems

import (
	"cmp"
	"slices"
	"time"

	"github.com/tackfree/tackfree/data/units"
)

// An Outcome is a whole plan: what to buy, what to do when, what to watch. It
// marshals to JSON, with quantities as text in SI and times as RFC 3339.
type Outcome struct {
	Job          string        `json:"job"`
	Place        string        `json:"place,omitempty"`
	Recipe       string        `json:"recipe"` // "quartz-broadcast@1.0.0"
	Title        string        `json:"title"`  // the recipe's name
	Start        time.Time     `json:"start"`
	Now          *time.Time    `json:"now,omitempty"` // what is before it has happened; nil if nothing is done yet
	End          time.Time     `json:"end"`           // last work
	Foot         *time.Time    `json:"foot"`          // light foot traffic on all of it; nil if never reached
	Service      *time.Time    `json:"service"`       // full service; nil if never reached
	FootHeld     bool          `json:"foot_held"`     // Foot lies beyond the last slab temperature given, which was held
	ServiceHeld  bool          `json:"service_held"`  // Service likewise
	Areas        []AreaLine    `json:"areas"`
	Floor        units.Area    `json:"floor"`    // plan area of all floors
	Base         units.Area    `json:"base"`     // developed face of the cove base
	Edge         units.Length  `json:"edge"`     // of all areas, where coats are cut in
	Faces        units.Area    `json:"faces"`    // vertical faces beside the base: sides of plinths and columns
	Sections     int           `json:"sections"` // parts the floor is coated in
	TakeOff      []Need        `json:"take_off"`
	Build        []Layer       `json:"build"`
	Thickness    units.Length  `json:"thickness"`       // sum of the layers
	Marks        []MarkLine    `json:"marks,omitempty"` // up to the first broadcast, which hides them
	Schedule     []Work        `json:"schedule"`
	Nights       []Night       `json:"nights"`              // what lies there while nobody works; the first 60
	Heat         *HeatPlan     `json:"heat,omitempty"`      // nil if the job has no [room]
	HeatLoss     *HeatLoss     `json:"heat_loss,omitempty"` // if the heat stops at the worst hour; nil where nothing follows from it
	Findings     []Finding     `json:"findings"`
	Alternatives []Alternative `json:"alternatives"`
	Order        []OrderLine   `json:"order"`
	Cautions     []Caution     `json:"cautions"`
	Files        []FileID      `json:"files"` // every data file used, those of the alternatives too
	Figures      []Figure      `json:"figures"`
	Data         string        `json:"data,omitempty"` // version of package data that the plan was made with; it is not needed to make it again
	Input        Input         `json:"input"`          // with Files it makes the plan again: see [Replay]

	why func() (notes, error) // see [Outcome.Explain]
	job *Job                  // of the run that made it; see [Outcome.Working]
}

// An AreaLine is one area of the job.
type AreaLine struct {
	Name  string       `json:"name"`
	Floor units.Area   `json:"floor"`
	Base  units.Area   `json:"base"`
	Edge  units.Length `json:"edge"`  // where coats are cut in; 0 if not known
	Faces units.Area   `json:"faces"` // other vertical faces
}

// A Need is what one step takes: of a liquid with its losses by cause, or of
// an aggregate. Resin: Gross = Film + Voids + Texture + Profile + Uptake + Edges
// + Faces + Fill + Tools + Residue + Waste. Aggregate: Thrown = Held + Vacuumed.
type Need struct {
	Step     string         `json:"step"`
	Title    string         `json:"title"`
	Material string         `json:"material"` // id@version
	Name     string         `json:"name"`
	Area     units.Area     `json:"area"`
	Wet      units.Length   `json:"wet"`     // wet film over the area, without profile, uptake and waste
	Dry      units.Length   `json:"dry"`     // dry film
	Film     units.Volume   `json:"film"`    // in the film
	Voids    units.Volume   `json:"voids"`   // in the open voids of a broadcast
	Profile  units.Volume   `json:"profile"` // in the texture of the ground concrete
	Uptake   units.Volume   `json:"uptake"`  // drunk by the pores
	Fill     units.Volume   `json:"fill"`    // resin of patches, joints and cove
	Texture  units.Volume   `json:"texture"` // in the texture of a crust, measured
	Edges    units.Volume   `json:"edges"`   // more along edges, cut in by brush
	Faces    units.Volume   `json:"faces"`   // on vertical faces beside the base
	Tools    units.Volume   `json:"tools"`   // held by rollers and squeegees
	Residue  units.Volume   `json:"residue"` // left in the buckets
	Waste    units.Volume   `json:"waste"`   // spills and leftovers; buckets and rollers too where the recipe does not tell them apart
	Gross    units.Volume   `json:"gross"`   // to be mixed
	Mortar   units.Volume   `json:"mortar"`  // resin and filler together, in patches, joints, cove and filled coats
	Ground   units.Volume   `json:"ground"`  // of it, what grinding or shaving takes off again: crowns and beads
	Thinner  units.Volume   `json:"thinner"` // beside Gross
	Sand     units.Mass     `json:"sand"`    // filler sand in it
	SandName string         `json:"sand_name,omitempty"`
	Spread   units.Spread   `json:"spread"` // achieved: area by gross
	Batches  *Batches       `json:"batches,omitempty"`
	Thrown   units.Mass     `json:"thrown"`   // aggregate thrown
	Held     units.Mass     `json:"held"`     // aggregate that stays
	Vacuumed units.Mass     `json:"vacuumed"` // aggregate vacuumed back
	Bought   units.Mass     `json:"bought"`   // aggregate to buy, where some is thrown again on the next section
	Window   units.Span     `json:"window"`   // how long the film takes grain, at the shortest; 0 if not known
	AtOnce   units.Area     `json:"at_once"`  // to spread at most in one go, so that grain falls within Window; 0: throwing keeps up
	Loading  units.Loading  `json:"loading"`  // held per area
	Embedded units.Fraction `json:"embedded"` // share of the grain's height in resin, one layer
	Light    bool           `json:"light"`    // a light broadcast, not refusal
	Parts    []PartLine     `json:"parts,omitempty"`

	Volatiles *VolatileLine `json:"volatiles,omitempty"` // nil if the material does not say
}

// A MarkLine is what a coat leaves of the scratch of the last grit.
type MarkLine struct {
	Step    string       `json:"step"`
	Relief  units.Length `json:"relief"`  // at least
	Flooded bool         `json:"flooded"` // the wet film was as deep as the scratch it met
	Shows   bool         `json:"shows"`   // it may telegraph
}

// Batches says how to mix a step's liquid.
type Batches struct {
	N       int               `json:"n"`
	Each    units.Volume      `json:"each"`           // all batches alike
	Largest units.Volume      `json:"largest"`        // the largest allowed
	PotLife units.Span        `json:"pot_life"`       // at At, of the stated amount
	At      units.Temperature `json:"at"`             // of the air then
	Binding string            `json:"binding"`        // "pot life", "vessel", "kit", "whole kit" or "need"
	Ratio   string            `json:"ratio"`          // "2:1 by volume"
	Parts   []PartLine        `json:"parts"`          // per batch
	Dose    *BatchDose        `json:"dose,omitempty"` // nil if no part goes by the temperature
}

// A BatchDose is how much of an initiator each batch takes at the slab's
// temperature when the step begins; Parts has its amount.
type BatchDose struct {
	Part  string            `json:"part"`  // name
	Share units.Fraction    `json:"share"` // by mass of the other parts
	At    units.Temperature `json:"at"`    // of the slab at the start of the first section
	Each  units.Mass        `json:"each"`  // in one batch
	All   units.Mass        `json:"all"`   // in all of the step
}

// A PartLine is an amount of one component.
type PartLine struct {
	Name   string       `json:"name"`
	Volume units.Volume `json:"volume"`
	Mass   units.Mass   `json:"mass"`
}

// A Layer is one step of the build-up.
type Layer struct {
	Step  string       `json:"step"`
	Title string       `json:"title"`
	Adds  units.Length `json:"adds"`
	Total units.Length `json:"total"`
}

// A Work is one step on one section: when, how long, and why not earlier.
type Work struct {
	Step    string            `json:"step"`
	Title   string            `json:"title"`
	Does    string            `json:"does"`
	Section int               `json:"section"` // 1 ...; 0 is the whole floor
	Start   time.Time         `json:"start"`
	End     time.Time         `json:"end"`
	Crew    units.Span        `json:"crew"`    // working time of the crew in it
	Binding string            `json:"binding"` // why it does not start earlier, in words
	Slab    units.Temperature `json:"slab"`    // at the start
	Air     units.Temperature `json:"air"`
	RH      units.Fraction    `json:"rh"`
	Margin  units.TempDelta   `json:"margin"` // slab above the dew point at the start
	Events  []EventTime       `json:"events,omitempty"`
	Needs   string            `json:"needs,omitempty"`  // as the recipe says: what must be so before it
	Leaves  string            `json:"leaves,omitempty"` // what it leaves to the next step
	Checks  []string          `json:"checks,omitempty"` // what to look at and measure
	Status  string            `json:"status,omitempty"` // done or running; "": still to come
}

// An EventTime is when a coat, patch or joint reaches an event along the
// temperatures given. Earliest events count from the last spot laid, latest
// ones from the first.
type EventTime struct {
	Event string     `json:"event"`
	At    *time.Time `json:"at"`   // nil: never, along these temperatures
	Held  bool       `json:"held"` // beyond the last temperature given, which was held
}

// Severity says how grave a finding is.
type Severity string

// The severities.
const (
	Stop  Severity = "stop"  // do not go on as planned
	Watch Severity = "watch" // may go wrong: look at it
	Note  Severity = "note"  // worth knowing
)

// graver orders severities, the gravest first.
func graver(x, y Severity) int {
	rank := func(s Severity) int { return slices.Index([]Severity{Stop, Watch, Note}, s) }
	return cmp.Compare(rank(x), rank(y))
}

// A Finding is something the plan does not pass over in silence. Key is stable;
// Text is the sentence made from it and the figures, in the units asked for by
// [Finding.Sentence].
type Finding struct {
	Key      string     `json:"key"`
	Severity Severity   `json:"severity"`
	Step     string     `json:"step,omitempty"`
	Section  int        `json:"section,omitempty"`
	When     *time.Time `json:"when,omitempty"`
	Until    *time.Time `json:"until,omitempty"`
	Worst    *time.Time `json:"worst,omitempty"` // when it is as Found says, of weather that breaks a limit from When to Until
	Found    Amount     `json:"found"`
	Asked    Amount     `json:"asked"`
	Owner    string     `json:"owner,omitempty"`   // whose limit it is
	Limit    string     `json:"limit,omitempty"`   // its id or place
	Past     bool       `json:"past,omitempty"`    // it is over: nothing can be done about it but to mend what it left
	Event    string     `json:"event,omitempty"`   // of a data sheet, if it is about one
	Instead  string     `json:"instead,omitempty"` // the event that the plan takes in its place
	Text     string     `json:"text"`              // in SI; see Sentence
	Do       string     `json:"do,omitempty"`      // what is to be done about it, where Text does not say it; see Remedy
}

// An Alternative is another way to do a step, and what it would do.
type Alternative struct {
	Step    string          `json:"step"`
	Way     string          `json:"way"` // "material", "wait" or "warm"
	What    string          `json:"what"`
	Why     string          `json:"why,omitempty"`
	Start   *time.Time      `json:"start,omitempty"`   // of the step
	Service *time.Time      `json:"service,omitempty"` // of the floor
	Clears  []string        `json:"clears,omitempty"`  // findings of the step that go away
	Brings  []string        `json:"brings,omitempty"`  // findings that appear
	Warmer  units.TempDelta `json:"warmer,omitempty"`
	Leaves  []string        `json:"leaves,omitempty"` // what a warmer slab does not help against, in words
}

// An OrderLine is one thing to buy.
type OrderLine struct {
	Material string       `json:"material"`
	Name     string       `json:"name"`
	Volume   units.Volume `json:"volume"`          // needed, of liquids
	Mass     units.Mass   `json:"mass"`            // needed, of aggregates
	Units    int          `json:"units"`           // kits or bags
	Unit     string       `json:"unit"`            // "kit" or "bag"
	Parts    []PartLine   `json:"parts,omitempty"` // in all kits together
	Steps    []string     `json:"steps"`

	Kits     []KitLine `json:"kits,omitempty"`     // of liquids, by size
	Price    float64   `json:"price,omitempty"`    // of them, where their prices are given
	Currency string    `json:"currency,omitempty"` // of it, as the job names it

	LeftVolume units.Volume `json:"left_volume"`
	LeftMass   units.Mass   `json:"left_mass"`
	UnitVolume units.Volume `json:"unit_volume"` // of liquids; the largest that is bought
	UnitMass   units.Mass   `json:"unit_mass"`
}

// A Caution is a warning that belongs to the materials and the work.
type Caution struct {
	Key   string `json:"key"`
	Title string `json:"title"`
	Text  string `json:"text"`
}

// A FileID names one data file, its version and the SHA-256 of its bytes.
type FileID struct {
	Kind    string `json:"kind"`
	ID      string `json:"id"`
	Version string `json:"version"`
	Hash    string `json:"hash"`
	Layer   string `json:"layer,omitempty"` // whose it is; "" is the built-in data
}

// A Figure is one input the plan used, and where it came from.
type Figure struct {
	Where string `json:"where"` // "epoxy-standard@1.0.0 solids"
	Text  string `json:"text"`
	Origin
}
