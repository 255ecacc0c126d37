// Package data holds the reference data that systems reads: materials,
// recipes, limits, marks, heat (fuels, heaters, envelopes, floors), scatter and sources, as
// versioned TOML. It has no behaviour.
//
// Layout: materials/<id>-<version>.toml, recipes/<id>/<version>.toml,
// limits/<topic>-<version>.toml, marks/<topic>-<version>.toml,
// heat/<topic>-<version>.toml, scatter/<topic>-<version>.toml, sources.toml.
// A released version is never edited; a new one is added beside it, and
// CHANGELOG.md says what changed. The newest version of an id counts.
package data

import "embed"

// Version is the version of the data as a whole; it rises when a file is added.
const Version = "1.2.0"

// Files holds every data file.
//
//go:embed materials recipes limits marks heat scatter sources.toml
var Files embed.FS
