#compdef tankbook
# Completion of tankbook for zsh, after compinit:  source <(tankbook completion zsh)
# What is offered is read line by line and evaluated nowhere.
_tankbook() {
    local line
    local -a found said
    while IFS= read -r line; do
        if [[ $line == :files ]]; then
            _files
            return
        fi
        found+=("${line%%$'\t'*}")
        said+=("${line/$'\t'/  }")
    done < <(command tankbook __complete zsh $((CURRENT - 1)) "${words[@]}" 2>/dev/null)
    # -U: what is offered may end in what was typed, and need not begin with it
    compadd -U -l -d said -a -- found
}
compdef _tankbook tankbook
