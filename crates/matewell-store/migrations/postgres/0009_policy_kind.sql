-- The kind of fact of a policy taken up. What is allowed only grows, so no
-- stored row needs to be looked at again.
ALTER TABLE fact
    DROP CONSTRAINT fact_kind_check,
    ADD CONSTRAINT fact_kind_check CHECK (kind IN (
        'registered', 'inspected', 'gauged', 'cleaned', 'mated', 'parted', 'stored', 'tool-checked', 'held',
        'released', 'retired', 'replaced', 'refused', 'overridden', 'followed-up', 'corrected',
        'result-noted', 'sweep-noted', 'sweep-judged', 'case-opened', 'case-changed', 'end-disposed',
        'result-disposed', 'case-closed', 'kit-made', 'kit-checked', 'reserved', 'policy-taken-up'
    )) NOT VALID;

-- Policies are few among many facts.
CREATE INDEX fact_policy ON fact (seq) WHERE kind = 'policy-taken-up';
