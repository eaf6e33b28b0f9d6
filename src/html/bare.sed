# Takes comments in lines of their own, and what lines are indented by, out of stylesheets, scripts and templates: they are
# for those who read the sources.
/^ *\/\*.*\*\/$/d
/^ *\/\*/ {
    /\*\//!{
        :more
        N
        /\*\/$/!b more
        d
    }
}
/^ *\/\//d
/^{{!.*}}$/d
/^{{!/ {
    /}}/!{
        :much
        N
        /}}$/!b much
        d
    }
}
s/^ *//
