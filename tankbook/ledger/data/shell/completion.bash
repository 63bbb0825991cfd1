# Completion of tankbook for bash, 4.4 or newer:  source <(tankbook completion bash)
# What is offered is read line by line and evaluated nowhere.
_tankbook() {
    local line
    COMPREPLY=()
    while IFS= read -r line; do
        case $line in
            :files) compopt -o default -o filenames 2>/dev/null; COMPREPLY=(); return ;;
            *) COMPREPLY+=("${line%%$'\t'*}") ;;
        esac
    done < <(command tankbook __complete bash "$COMP_CWORD" "${COMP_WORDS[@]}" 2>/dev/null)
}
complete -o nosort -F _tankbook tankbook
