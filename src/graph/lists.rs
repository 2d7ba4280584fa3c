//! Lists of numbers end to end in one table, and the loops and the order that are in them.

use std::collections::{HashMap, HashSet, VecDeque};

/// Lists of numbers, one for each of many things, end to end in one table.
#[derive(Default)]
pub(crate) struct Lists {
    /// Where each list ends.
    ends: Vec<u32>,
    items: Vec<u32>,
}

impl Lists {
    /// Adds the next list.
    pub(super) fn push(&mut self, items: impl Iterator<Item = u32>) {
        self.items.extend(items);
        self.ends.push(self.items.len() as u32);
    }

    fn len(&self) -> usize {
        self.ends.len()
    }

    pub(crate) fn of(&self, number: usize) -> &[u32] {
        let start = number.checked_sub(1).map_or(0, |before| self.ends[before] as usize);
        &self.items[start..self.ends[number] as usize]
    }

    /// For each of `count` numbers, the lists in which it stands, in their order.
    pub(super) fn turned(&self, count: usize) -> Lists {
        let mut ends = vec![0; count];
        self.items.iter().for_each(|item| ends[*item as usize] += 1);
        let mut total = 0;
        for end in &mut ends {
            // Where the list begins; it ends there once it is filled.
            (*end, total) = (total, total + *end);
        }
        let mut items = vec![0; self.items.len()];
        for list in 0..self.len() {
            for item in self.of(list) {
                let end = &mut ends[*item as usize];
                items[*end as usize] = list as u32;
                *end += 1;
            }
        }
        Lists { ends, items }
    }
}

/// The shortest way from `start` back to itself within a component.
pub(super) fn loop_from(start: usize, needs: &Lists, component: &[usize]) -> Vec<usize> {
    let members: HashSet<usize> = component.iter().copied().collect();
    let mut came: HashMap<usize, usize> = HashMap::new();
    let mut queue = VecDeque::from([start]);
    while let Some(at) = queue.pop_front() {
        for next in needs.of(at).iter().map(|next| *next as usize) {
            if next == start {
                let mut path = vec![at];
                while let Some(before) = came.get(&path[path.len() - 1]) {
                    path.push(*before);
                }
                path.reverse();
                return path;
            }
            if members.contains(&next) && !came.contains_key(&next) {
                came.insert(next, at);
                queue.push_back(next);
            }
        }
    }
    vec![start]
}

/// Strongly connected components by Tarjan's algorithm, without recursion; with edges that point at what is needed
/// they come out in the order of work.
pub(super) fn components(needs: &Lists, mut found: impl FnMut(&[usize])) {
    const NEW: u32 = u32::MAX;
    let mut number = vec![NEW; needs.len()];
    let mut low = vec![0; needs.len()];
    let mut on_stack = vec![false; needs.len()];
    let mut stack: Vec<usize> = Vec::new();
    let mut calls: Vec<(usize, usize)> = Vec::new();
    let mut next = 0;
    for root in 0..needs.len() {
        if number[root] != NEW {
            continue;
        }
        calls.push((root, 0));
        while let Some((at, edge)) = calls.pop() {
            if edge == 0 {
                number[at] = next;
                low[at] = next;
                next += 1;
                stack.push(at);
                on_stack[at] = true;
            }
            if let Some(to) = needs.of(at).get(edge) {
                let to = *to as usize;
                calls.push((at, edge + 1));
                if number[to] == NEW {
                    calls.push((to, 0));
                } else if on_stack[to] {
                    low[at] = low[at].min(number[to]);
                }
                continue;
            }
            if low[at] == number[at] {
                let start = stack.iter().rposition(|member| *member == at).unwrap_or(0);
                let component = &mut stack[start..];
                component.reverse();
                component.iter().for_each(|member| on_stack[*member] = false);
                found(component);
                stack.truncate(start);
            }
            if let Some((parent, _)) = calls.last() {
                low[*parent] = low[*parent].min(low[at]);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Lists, components};

    fn lists(of: &[&[u32]]) -> Lists {
        let mut lists = Lists::default();
        of.iter().for_each(|list| lists.push(list.iter().copied()));
        lists
    }

    #[test]
    fn what_is_needed_comes_first_and_a_loop_stays_together() {
        let mut order = Vec::new();
        components(&lists(&[&[1], &[2], &[], &[4], &[3, 0]]), |component| order.push(component.to_vec()));
        assert_eq!(order, [vec![2], vec![1], vec![0], vec![4, 3]]);
    }

    #[test]
    fn turned_lists_say_where_each_number_stands() {
        let turned = lists(&[&[1, 2], &[], &[2, 0], &[2]]).turned(4);
        let of: Vec<&[u32]> = (0..turned.len()).map(|number| turned.of(number)).collect();
        assert_eq!(of, [&[2][..], &[0], &[0, 2, 3], &[]]);
    }
}
