package systems

import (
	"github.com/tackfree/tackfree/coverage"
	"github.com/tackfree/tackfree/data/units"
)

// The events of a mixed liquid's life, as data sheets name them.
const (
	PotLife         = "pot-life"         // in the bucket, for the amount stated
	BroadcastLatest = "broadcast-latest" // last grains may fall into the film
	TackFree        = "tack-free"        // may be touched; no longer harmed by damp
	Grindable       = "grindable"        // may be ground without gumming
	RecoatEarliest  = "recoat-earliest"  // next coat may go on
	RecoatLatest    = "recoat-latest"    // after it, abrade first
	Foot            = "foot"             // light foot traffic
	Service         = "service"          // full service
)

// Events lists every event a material file may give times for.
func Events() []string {
	return []string{PotLife, BroadcastLatest, TackFree, Grindable, RecoatEarliest, RecoatLatest, Foot, Service}
}

// A Material is one file of data/materials: a liquid mixed from parts, an
// aggregate, or a thickener stirred into a liquid. Materials are generic classes; a job overrides any figure by its
// product's own data sheet.
type Material struct {
	Kind    string `toml:"kind" json:"kind"` // "liquid", "aggregate" or "thickener"
	ID      string `toml:"id" json:"id"`
	Version string `toml:"version" json:"version"`
	Name    string `toml:"name" json:"name"`
	Schema  int64  `toml:"schema" json:"-"`                  // edition of the file kind; 0 is 1
	Extends string `toml:"extends" json:"extends,omitempty"` // "id@version" of the class whose figures hold where this file states none
	Sheet   Sheet  `toml:"sheet" json:"sheet,omitzero"`      // of a file that extends: where its figures stand

	// Liquids.
	Chemistry string                    `toml:"chemistry"` // "epoxy", "polyaspartic" ...
	Mix       string                    `toml:"mix"`       // ratio of the parts in the order of their keys: "2:1"
	MixBy     string                    `toml:"mix_by"`    // "volume" or "mass"
	Parts     map[string]Part           `toml:"parts"`     // keys "a", "b", "c"
	Solids    Value[units.Fraction]     `toml:"solids"`    // by volume, of the mixed liquid
	Water     Value[units.Fraction]     `toml:"water"`     // by volume of the mixed liquid as laid: what dries out of it; with the solids at most 100 %
	Kit       Value[units.Volume]       `toml:"kit"`       // mixed volume of one kit
	Kits      map[string]KitSize        `toml:"kits"`      // all sizes sold, where there are several; kit is the usual one
	Whole     bool                      `toml:"whole"`     // kits are mixed whole, not measured out in parts
	VOC       Value[units.Density]      `toml:"voc"`       // volatile organic compounds as mixed, without water and exempt ones, per volume of all
	Exempt    Value[units.Fraction]     `toml:"exempt"`    // exempt compounds, of the mixed volume
	Film      Limits[units.Length]      `toml:"film"`      // wet film of one coat
	Vessel    Value[units.Volume]       `toml:"vessel"`    // largest batch a mixing pail holds
	Mixing    Value[units.Span]         `toml:"mixing"`    // from pouring together to the floor
	Surface   Limits[units.Temperature] `toml:"surface"`   // surface temperature while placing and until tack-free
	Air       Limits[units.Temperature] `toml:"air"`       // air temperature, likewise
	Humidity  Limits[units.Fraction]    `toml:"humidity"`  // relative humidity of the air, likewise
	Moisture  string                    `toml:"moisture"`  // id of the slab moisture limit, "" if none is asked
	Times     map[string]Times          `toml:"times"`     // by event
	Reaction  Reaction                  `toml:"reaction"`  // for batches above the amount of the pot life
	Dose      Dose                      `toml:"dose"`      // of the part whose share goes by the temperature: an initiator

	// Aggregates; of a thickener only density and bag.
	Density   Value[units.Density]  `toml:"density"`   // of the grain
	Size      Value[units.Length]   `toml:"size"`      // middle size of the grading
	Packing   Value[units.Fraction] `toml:"packing"`   // solids of the loose bed
	Coverage  Value[units.Fraction] `toml:"coverage"`  // plan coverage of one full layer
	Retention Value[units.Fraction] `toml:"retention"` // share of the thrown grain that stays
	Bag       Value[units.Mass]     `toml:"bag"`
	Passing   map[string]string     `toml:"passing"` // sieve opening -> share passing
	Plate     Value[units.Length]   `toml:"plate"`   // thickness of flakes, which lie flat; not given for grain
	Refusal   Value[units.Loading]  `toml:"refusal"` // of flakes: what stays of a broadcast to refusal

	Cautions []string `toml:"cautions"` // keys of limits/cautions

	parts []string // keys of Parts, sorted
	mix   coverage.Mix
	file  FileID
	bases []FileID  // files that it extends, farthest first
	class *Material // whose ranges its figures are held against; nil of a class itself
}

// A Part is one component of a liquid.
type Part struct {
	Name    string               `toml:"name"`
	Density Value[units.Density] `toml:"density"`
}
