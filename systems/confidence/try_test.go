package confidence_test
import ("testing";"context";"time";"fmt";"github.com/tackfree/tackfree/systems/confidence")
func TestTry(t *testing.T){
 o:=demo()
 for _,w:=range []int{1,2,1,2}{
 s:=time.Now()
 r,err:=confidence.Of(context.Background(),o,confidence.Options{Seed:1,Workers:w})
 fmt.Println(w,time.Since(s),err)
 if w==1 {for _,l:=range r.Lines{fmt.Println(l.Sentence(),l.Told)}; fmt.Println(r.Short,r.Asked)}
 }
}
