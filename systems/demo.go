package systems

import _ "embed"

//go:embed demo/sloe-lane.toml
var demo string

// DemoJob returns the text of the demo job: a cold slab, patches, a joint, two
// nights, and a cold front that the temporary heat cannot hold. The place is
// invented.
func DemoJob() []byte { return []byte(demo) }
